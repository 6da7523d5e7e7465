"""A component that is made in the house from a spec of its own."""

from collections.abc import Sequence
from dataclasses import replace

from service.drink.portion import Portion, cloudiest
from service.drink.spec import Component
from service.science import mixture


def litre_of_mix(component: Component, parts: Sequence[Portion]) -> Portion:
    """Return a litre of the parts together; statements of the component about the mix itself stand.

    The part that stays behind, by `yield_percent`, is taken to be of the same composition as the part that is kept.

    raises: OutsideValidity
    """
    masses = mixture.together([(p.masses, 1.0) for p in parts])
    per_litre = 1000.0 / mixture.volume_ml(masses)
    stated = component.co2_g_per_l
    litre = Portion(_described(component, tuple(parts), mixture.abv(masses)), 1000.0, masses.scaled(per_litre))
    return replace(
        litre,
        acid_meq=per_litre * sum(p.acid_meq for p in parts),
        co2_g=per_litre * sum(p.co2_g for p in parts) if stated is None else stated,
        mineral_acid_g=per_litre * sum(p.mineral_acid_g for p in parts),
        made_of=tuple(p.times(per_litre * litre.started) for p in parts),
    )


def _described(component: Component, parts: tuple[Portion, ...], abv: float) -> Component:
    """Return the component as mixed: a live culture stays alive, whatever is said of it; the rest may change."""
    keeps = [p.component.keeps_s for p in parts if p.component.keeps_s is not None]
    return replace(
        component,
        abv=abv,
        clarity=component.clarity or cloudiest(parts),
        foams=any(p.component.foams for p in parts) if component.foams is None else component.foams,
        live_culture=component.live_culture or any(p.component.live_culture for p in parts),
        keeps_s=min(keeps, default=None) if component.keeps_s is None else component.keeps_s,
    )

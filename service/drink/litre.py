"""A litre of a component, by its analysis, its ratio or its recipe, or of the mix that it is made from."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from service.drink.portion import Portion, cloudiest
from service.drink.spec import AcidRecipe, Component, Composition, Sugar, Syrup
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.batches import DENSITY_TOLERANCE
from service.science import acids, mixture
from service.science.mixture import Masses
from service.science.rounding import rounded_up
from service.science.units import Quantity
from service.science.validity import OutsideValidity

SUGAR_BULK_G_PER_ML = 0.845
"""Granulated sugar, loose [g/ml]; USDA SR 169655, 200 g to a US cup of 236.6 ml."""
ROOM_C = 20.0
"""Temperature at which every acid of a solution has to dissolve, the only one with known saturations for all [degC]."""


def litre_of_component(component: Component, at: str) -> Portion:
    """Return a litre of a component by its own description.

    at: JSON Pointer of the component in the request
    raises: Refused, OutsideValidity
    """
    if component.acid_solution is not None:
        return _litre_of_acid_solution(component, component.acid_solution)
    sugar = _sugar_g_per_l(component)
    masses, acid_meq = litre_of(component, sugar)
    if component.density_g_per_ml is not None:
        masses = _weighed_litre(component, sugar, masses, f"{at}/density_g_per_ml")
    return Portion(component, 1000.0, masses, acid_meq, component.co2_g_per_l or 0.0)


def _weighed_litre(component: Component, sugar_g_per_l: float, contents: Masses, at: str) -> Masses:
    """Return the masses in a litre of stated density; weight beyond its contents counts as water.

    contents: of a litre by strength, sugar, acid and salt alone
    raises: Refused, with the density that those have
    """
    try:
        weighed, _ = litre_of(component, sugar_g_per_l, density_g_per_ml=component.density_g_per_ml)
        if abs(mixture.volume_ml(weighed) / 1000.0 - 1.0) <= DENSITY_TOLERANCE:
            return weighed
    except OutsideValidity:
        pass  # no room for water: refused like any other contradiction
    text = "The stated strength, sugar, acid and salt make {found}. State what else it holds, or leave the density out."
    found = Quantity("density", contents.total_g / 1000.0)
    raise Refused("impossible-composition", [Fault(at, "impossible-composition", text, (("found", found),))],
                  facts=[Fact("density_of_the_contents", found)],
                  nearest=[Nearest(at, rounded_up(found.value, 0.0001))])  # fmt: skip


def impossible(outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal of an analysis or a recipe that no liquid has.

    at: JSON Pointer of its description
    """
    fault = Fault(at, "impossible-composition", "No liquid is like this: {why}.", (("why", str(outside)),))
    return Refused("impossible-composition", [fault])


def litre_of(
    known: Component | Composition, sugar_g_per_l: float, *, density_g_per_ml: float | None = None
) -> tuple[Masses, float]:
    """Return masses and acid [meq] in a litre of a liquid known by its analysis.

    raises: OutsideValidity
    """
    acid_meq = known.acidity_meq_per_l or 0.0
    masses = mixture.masses_of(
        1000.0,
        abv=known.abv or 0.0,
        sugar_g_per_l=sugar_g_per_l,
        hexose_share=known.hexose_share or 0.0,
        acid_g_per_l=acids.as_g_per_l(acid_meq, "citric"),
        salt_g_per_l=known.salt_g_per_l or 0.0,
        density_g_per_ml=density_g_per_ml,
    )
    return masses, acid_meq


def _sugar_g_per_l(component: Component) -> float:
    if component.syrup is not None:
        return mixture.sugar_g_per_l_from_brix(_syrup_brix(component.syrup))
    return sugar_g_per_l(component.sugar, component.abv or 0.0) if component.sugar is not None else 0.0


def sugar_g_per_l(sugar: Sugar, abv: float) -> float:
    """Return grams of sugar per litre, whichever way it was stated."""
    return sugar.value if sugar.unit == "g/l" else mixture.sugar_g_per_l_from_brix(sugar.value, abv)


def _syrup_brix(syrup: Syrup) -> float:
    """Return degrees Brix of a syrup; by volume the sugar is loose granulated sugar, an estimate."""
    ratio = syrup.sugar_to_water
    if syrup.by == "volume":
        ratio *= SUGAR_BULK_G_PER_ML / (mixture.sucrose_water_density_kg_m3(0.0) / 1000.0)
    return 100.0 * ratio / (1.0 + ratio)


def _check_dissolves(acid_g: Mapping[str, float], water_g: float) -> None:
    """Refuse a solution that does not hold its acids at the temperature of the room.

    raises: OutsideValidity
    """
    for acid, share in acids.saturation(acid_g, water_g, ROOM_C).items():
        if share > 1.0:
            percent = 100.0 * acid_g[acid] / (acid_g[acid] + water_g)
            raise OutsideValidity(f"{acid} acid in water", percent, 0.0, percent / share, "% w/w")


def _litre_of_acid_solution(component: Component, recipe: AcidRecipe) -> Portion:
    """Return a litre of an acid solution in water.

    raises: OutsideValidity when the acids leave no room for water, or do not dissolve in it
    """
    if recipe.basis == "w/v":
        acid_g = {part.acid: 10.0 * (part.percent or 0.0) for part in recipe.acids}
        water_g = acids.water_for_volume_g(acid_g, 1000.0)
    else:
        acid_g = {part.acid: part.percent or 0.0 for part in recipe.acids}
        water_g = 100.0 - sum(acid_g.values())
        scale = 1000.0 / acids.solution_volume_ml(acid_g, water_g)
        acid_g, water_g = {a: g * scale for a, g in acid_g.items()}, water_g * scale
    if not water_g > 0.0:
        raise OutsideValidity("water beside the acids", water_g, 0.0, 1000.0, "g/L")
    _check_dissolves(acid_g, water_g)
    meq = sum(g * acids.meq_per_g(a) for a, g in acid_g.items())
    mineral_g = sum(g for a, g in acid_g.items() if acids.ACIDS[a].is_mineral)
    masses = Masses(water_g=water_g, acid_g=sum(acid_g.values()))
    return Portion(component, 1000.0, masses, meq, component.co2_g_per_l or 0.0, mineral_g)


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

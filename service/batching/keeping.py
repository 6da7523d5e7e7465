"""The use-by of a batch, and the drinks that get none."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from service.drink import Drink, Portion, Spec
from service.drink.references import filled
from service.drink.water import states_no_strength
from service.limits.safety import ACID_ENOUGH_MEQ_PER_L, ACID_ENOUGH_PH, STRONG_ENOUGH_ABV
from service.limits.serving import COLD_HOLD_C
from service.notes import Notes
from service.science.units import Quantity


def use_by(
    spec: Spec,
    glass: Sequence[Portion],
    drink: Drink,
    *,
    made_at: datetime | None,
    house_maximum_s: float | None,
    notes: Notes,
) -> datetime | None:
    """Return the end of the shortest of all keeping times, by the house's clock; None where it cannot be given.

    A drink that is neither acid nor of known pH gets a caution instead.

    glass: portions of the spec's components
    drink: all of it
    """
    if _caution_no_ph(glass, drink, notes) or made_at is None:
        return None
    stated = [(p.component.keeps_s, p.component.name) for p in glass if p.component.keeps_s is not None]
    if house_maximum_s is not None:
        stated.append((house_maximum_s, "the house maximum"))
    if not stated:
        notes.caution("no-use-by", "info", (
            "State how long the components keep, or the house maximum: without it there is no use-by."
        ),
                      at=("/spec/components", "/house_maximum"))  # fmt: skip
        return None
    silent = tuple(_silent(spec, "/spec"))
    if silent:
        notes.assume("components that state no keeping time", "keep as long as the others", "default", at=silent)
    shortest_s, shortest = min(stated)
    notes.caution("use-by-cold", "info",
                  "Look and taste first: the use-by is that of {shortest}, and holds unopened, at {most} or below.",
                  at="/made_at", shortest=shortest, most=Quantity("temperature", COLD_HOLD_C))  # fmt: skip
    return made_at + timedelta(seconds=shortest_s)


def _silent(spec: Spec, at: str) -> Iterator[str]:
    """Yield the JSON Pointers of keeping times that are not stated."""
    for i, component in enumerate(spec.components):
        if filled(component).keeps_s is None:
            here = f"{at}/components/{i}"
            inner = component.made_from
            yield from _silent(inner, f"{here}/made_from") if inner is not None else (f"{here}/keeps",)


def _caution_no_ph(glass: Sequence[Portion], drink: Drink, notes: Notes) -> bool:
    """Tell whether the drink may let pathogens grow, as far as its acid is known; if so a caution says it."""
    if drink.plain_water or drink.abv >= STRONG_ENOUGH_ABV or drink.acid_meq_per_l >= ACID_ENOUGH_MEQ_PER_L:
        return False
    if _known_acid(glass, notes):
        return False
    notes.caution("use-by-needs-ph", "warning",
                  "Hold it at {most} or below and measure its pH: it has little acid, and sealed, pathogens may grow "
                  "in it. It gets no use-by, since no pH up to {ph} is stated of all that is in it. Above {ph}, "
                  "local food law and a competent person decide.",
                  at="/spec/components", ph=ACID_ENOUGH_PH, most=Quantity("temperature", COLD_HOLD_C))  # fmt: skip
    return True


def _known_acid(glass: Sequence[Portion], notes: Notes) -> bool:
    """Tell whether every part but water, spirit and acid solutions has a pH that is low enough."""
    phs = [part.component.ph for part in _deciding(glass)]
    if not phs or any(ph is None or ph > ACID_ENOUGH_PH for ph in phs):
        return False
    notes.assume("a mix of parts up to pH 4.6, with water, spirit and acid solutions", "stays at or below it",
                 "estimate", at="/spec/components", code="mix-of-acid-parts")  # fmt: skip
    return True


def _deciding(parts: Sequence[Portion]) -> Iterator[Portion]:
    """Yield the parts whose pH bounds that of the whole; for one without, those it is made of.

    A part that states nothing of itself may hold more than water.
    """
    for part in parts:
        stated, masses = part.component.ph is not None, part.masses
        holds_more = masses.ethanol_g + masses.water_g < masses.total_g or states_no_strength(part.component)
        if part.made_of and not stated:
            yield from _deciding(part.made_of)
        elif stated or (holds_more and part.component.acid_solution is None):
            yield part

"""Glasses a keg gives, and what is poured away: the first pour, cleaning, the heel."""

from dataclasses import dataclass
from math import floor
from typing import Annotated

from service.batching import check_prices, names_of
from service.batching.cost import caution_unpriced, cost_of_glass
from service.declared import VOLUME
from service.draught.asked import DraughtAsked
from service.drink import Spec, mix, portions
from service.limits.draught import CLEANED_EVERY_S, FIRST_POUR, HEEL
from service.money import Money
from service.notes import Notes, SilentNotes
from service.science.band import Band, combine
from service.science.units import Quantity


@dataclass(frozen=True)
class Lost:
    """Drink that nobody drinks."""

    first_pour_ml: Annotated[float, VOLUME, "When the keg is tapped: once what the line holds."]
    cleaning_ml: Annotated[float, VOLUME, "A week."]
    heel_ml: Annotated[float, VOLUME, "Left in the keg."]


@dataclass(frozen=True)
class Yield:
    """The yield of a keg.

    glasses: whole ones; days: at so many serves a day, None where it is not said how many
    away_ml: of one keg, typically
    """

    glasses: Band
    days: Band | None
    lost: Lost
    away_ml: float


def yield_of(
    asked: DraughtAsked, *, liquid_ml: float, capacity_ml: float, line_ml: float, pour_ml: float, notes: Notes
) -> Yield:
    """Return what a keg gives at the pours and the cleaning that are asked for.

    n = (V - first - heel) / (pour + flush / (every serves_per_day)); without serves_per_day nothing is known of how
    often the line is cleaned while the keg lasts, and none of it counts
    """
    every_s, flush_ml = _cleaning(asked, line_ml, notes)
    notes.assume("foam and spills at the tap", "none", "estimate", "count what you pour away")
    each_day = asked.serves_per_day
    a_glass_ml = pour_ml if each_day is None else pour_ml + flush_ml * 86400.0 / (every_s * each_day)

    def glasses(first: float, heel: float) -> float:
        return max(0.0, liquid_ml - first * line_ml - heel * capacity_ml) / a_glass_ml

    typical = glasses(FIRST_POUR.typical, HEEL.typical)
    band = combine(typical, [
        (glasses(FIRST_POUR.high, HEEL.typical), glasses(FIRST_POUR.low, HEEL.typical)),
        (glasses(FIRST_POUR.typical, HEEL.high), glasses(FIRST_POUR.typical, HEEL.low)),
    ])  # fmt: skip
    whole = band.map(lambda n: float(floor(max(0.0, n) + 1e-9)))
    days = None if each_day is None else whole.map(lambda n: n / each_day)
    lost = Lost(FIRST_POUR.typical * line_ml, flush_ml * 7 * 86400.0 / every_s, HEEL.typical * capacity_ml)
    cleaning_ml = 0.0 if days is None else lost.cleaning_ml * days.typical / 7.0
    return Yield(whole, days, lost, lost.first_pour_ml + lost.heel_ml + cleaning_ml)


def _cleaning(asked: DraughtAsked, line_ml: float, notes: Notes) -> tuple[float, float]:
    """Return how often the line is cleaned [s], and what is lost each time [ml]."""
    every_s, flush_ml = asked.cleaning.every_s, asked.cleaning.flush_ml
    if every_s is None:
        every_s = CLEANED_EVERY_S
        notes.assume("line cleaned every", Quantity("duration", every_s), "common-practice", at="/cleaning/every")
    if flush_ml is None:
        flush_ml = line_ml
        source = "what the line holds"
        notes.assume("lost at each cleaning", Quantity("volume", flush_ml), "estimate", source, at="/cleaning/flush")
    return every_s, flush_ml


def cost_away(spec: Spec | None, asked: DraughtAsked, away_ml: float, notes: Notes) -> Money | None:
    """Return what the drink costs that a keg loses; None without prices.

    raises: Refused, SeveralRefused for a price of what the spec does not hold
    """
    if not asked.prices:
        return None
    check_prices(asked.prices, None, [] if spec is None else names_of(spec))
    assert spec is not None  # else a price is of no component
    parts = portions(spec, SilentNotes())
    caution_unpriced(parts, asked.prices, notes)
    priced = {price.component: price for price in asked.prices}
    away = [part.times(away_ml / mix(parts).volume_ml) for part in parts]
    return cost_of_glass(away, priced, asked.prices[0].price.currency)

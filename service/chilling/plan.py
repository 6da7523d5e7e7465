"""A chill: how long, how cold at the least, and what the estimate leaves out."""

from dataclasses import dataclass
from typing import Unpack

from service.chilling.case import Asked, Case, EnvironmentKey, case_of
from service.chilling.times import time_s, warming_s
from service.drink import Drink
from service.notes import Notes
from service.science import mixture
from service.science.band import Band
from service.science.mixture import ENVIRONMENTS
from service.science.units import Quantity

WEAK_ABV = 5.0
"""Below this a drink is densest near DENSEST_C, as water is [%vol]; estimate."""
DENSEST_C = 4.0
"""Water is densest at 3.98 degC; IAPWS-95."""


@dataclass(frozen=True)
class Chilling:
    """What a chill comes to."""

    environment: EnvironmentKey
    environment_c: float
    goal_c: float
    freezing_point: Band
    lowest_safe_c: float
    time_s: Band
    first_check_s: float
    ice_percent_at_environment: float
    warming_s: Band | None
    """From where the chill ends to 5 degC in a warm room; None where it ends no colder than that."""


def chill(drink: Drink, *, notes: Notes, **asked: Unpack[Asked]) -> Chilling:
    """Time to the goal with its band, the temperatures that must not be passed, and the time before it is warm again.

    raises: Refused, SeveralRefused ("would-freeze", "unreachable", "charged-in-freezer", "impossible-reading",
        "vessel-refused", "no-headspace", "outside-validity")
    """
    case = case_of(drink, asked, notes)
    time, ice_percent = time_s(case, notes), mixture.ice_percent(drink.masses, case.place_c)
    _caution(case, ice_percent, notes)
    return Chilling(
        environment=case.place,
        environment_c=case.place_c,
        goal_c=case.goal_c,
        freezing_point=case.freezing,
        lowest_safe_c=drink.lowest_safe_c,
        time_s=time,
        first_check_s=time.low,
        ice_percent_at_environment=ice_percent,
        warming_s=warming_s(case, notes),
    )


def _caution(case: Case, ice_percent: float, notes: Notes) -> None:
    """What the bar must watch, and what the estimate leaves out."""
    start, goal = Quantity("temperature", case.start_c), Quantity("temperature", case.goal_c)
    if case.start_c <= case.goal_c:
        text = "At {start} the drink is already at or below the goal of {goal}: no chilling is needed."
        notes.caution("already-cold", "info", text, at="/start_temperature", start=start, goal=goal)
    if ice_percent > 0.0:
        text = "Left there, {ice} % of the water turns to ice: take it out at {goal}, and look at the first check."
        ice = float(round(ice_percent, 1))
        notes.caution("freezes-if-left", "warning", text, at="/environment", ice=ice, goal=goal)
    if ENVIRONMENTS[case.place].medium == "air":
        text = "Vessels that touch, or a place loaded warm, take longer than this."
        notes.caution("crowded", "info", text, at="/environment")
    if case.drink.abv < WEAK_ABV and case.goal_c < DENSEST_C + 1.0:
        densest = Quantity("temperature", DENSEST_C)
        text = "Near {densest} a weak drink stops stirring itself and is slower."
        notes.caution("slow-near-4-c", "info", text, at="/goal_temperature", densest=densest)

"""A chill: how long, how cold at the least, how much ice, and what the estimate leaves out."""

from dataclasses import dataclass
from typing import Annotated

from service.chilling.asked import ChillAsked
from service.chilling.case import Case, case_of
from service.chilling.load import Load, check_ice, load_of, loaded_s
from service.chilling.times import time_s, warming_s
from service.declared import DURATION, TEMPERATURE, Inline, shape, text
from service.drink import Drink
from service.limits.serving import CHILL_FROM_C, COLD_HOLD_C, COLD_PLATE_C, WEAK_ABV
from service.notes import Notes
from service.science import mixture
from service.science.band import Band
from service.science.mixture import ENVIRONMENTS
from service.science.units import Quantity
from service.site import EnvironmentKey

DENSEST_C = 4.0
"""Water is densest at 3.98 degC; IAPWS-95."""


@shape("ChillPlanBody")
@dataclass(frozen=True)
class Chilling:
    """How long it takes and how cold it may get.

    warming_s: None where the chill ends no colder than 5 degC
    """

    environment: Annotated[EnvironmentKey, text(40)]
    environment_temperature_c: Annotated[float, TEMPERATURE]
    goal_temperature_c: Annotated[float, TEMPERATURE]
    freezing_point: Annotated[Band, TEMPERATURE]
    lowest_safe_c: Annotated[float, TEMPERATURE]
    time_s: Annotated[Band, DURATION, "Of one vessel, or of all by the power of the place, whichever is longer."]
    first_check_s: Annotated[float, DURATION, "Look at the thermometer then: the early end of the time."]
    ice_percent_at_environment: Annotated[float, "Share of the water that is ice if left."]
    load: Inline[Load]
    warming_s: Annotated[Band | None, DURATION, "From the goal to 5 °C in a room of 30 °C."]


def chill(drink: Drink, asked: ChillAsked, notes: Notes) -> Chilling:
    """Return the time to the goal, the temperatures that must not be passed, and the time before it is warm again.

    raises: Refused, SeveralRefused ("would-freeze", "unreachable", "charged-in-freezer", "impossible-reading",
        "vessel-refused", "no-headspace", "outside-validity", "live-culture")
    """
    case = case_of(drink, asked, notes)
    alone, ice_percent = time_s(case, notes), mixture.ice_percent(drink.masses, case.place_c)
    load, warming = load_of(case, alone, notes), warming_s(case, notes)
    check_ice(case, load, notes)
    time = loaded_s(case, load, alone, notes)
    if asked.charged:
        reason = "7 g/l of it would lower the freezing point by 0.3 °C, which is on the safe side"
        notes.assume("dissolved CO2 in the freezing point", "left out", "estimate", reason, at="/charged")
    _caution(case, ice_percent, notes)
    _caution_warm(case, warming, notes)
    return Chilling(
        environment=case.place,
        environment_temperature_c=case.place_c,
        goal_temperature_c=case.goal_c,
        freezing_point=case.freezing,
        lowest_safe_c=case.lowest_safe_c,
        time_s=time,
        first_check_s=time.low,
        ice_percent_at_environment=ice_percent,
        load=load,
        warming_s=warming,
    )


def _caution(case: Case, ice_percent: float, notes: Notes) -> None:
    """Tell what the bar must watch, and what the estimate leaves out."""
    start, goal = Quantity("temperature", case.start_c), Quantity("temperature", case.goal_c)
    if case.start_c <= case.goal_c:
        text = "At {start} the drink is already at or below the goal of {goal}: no chilling is needed."
        notes.caution("already-cold", "info", text, at="/start_temperature", start=start, goal=goal)
    if ice_percent > 0.0:
        text = "Left there, {ice} % of the water turns to ice: take it out at {goal}, and look at the first check."
        ice = float(round(ice_percent, 1))
        notes.caution("freezes-if-left", "warning", text, at="/environment", ice=ice, goal=goal)
    if ENVIRONMENTS[case.place].medium == "air" and case.vessel_count > 1:
        text = "Vessels that touch take longer than this: leave a finger's breadth between them."
        notes.caution("crowded", "info", text, at="/environment")
    if case.place == "fridge" and case.goal_c < case.freezing.typical + COLD_PLATE_C:
        text = "Beside its cold plate a fridge is up to {colder} °C colder, and ice may form: keep the drink off it."
        notes.caution("cold-plate", "warning", text, at="/environment", colder=COLD_PLATE_C)
    if case.drink.abv < WEAK_ABV and case.goal_c < DENSEST_C + 1.0:
        densest = Quantity("temperature", DENSEST_C)
        text = "Near {densest} a weak drink stops stirring itself and is slower."
        notes.caution("slow-near-4-c", "info", text, at="/goal_temperature", densest=densest)


def _caution_warm(case: Case, warming: Band | None, notes: Notes) -> None:
    """Warn of a drink in too warm a place, one out of the cold, one poured cold into warm vessels."""
    place = Quantity("temperature", case.place_c)
    cold_c = min(case.start_c, case.goal_c)
    if case.place_c > max(COLD_HOLD_C, cold_c):
        text = "At {place} it warms past {warm}: that is no place to keep it."
        notes.caution("warms-there", "warning", text, at="/environment_temperature", place=place,
                      warm=Quantity("temperature", COLD_HOLD_C))  # fmt: skip
    if warming is not None:
        text = "Out of the cold it is at {warm} again after {low} to {high}: back into the cold between charges."
        notes.caution("warms-outside", "info", text, at="/goal_temperature", warm=Quantity("temperature", COLD_HOLD_C),
                      low=Quantity("duration", warming.low), high=Quantity("duration", warming.high))  # fmt: skip
    if case.chill_in == "jug":
        text = "Filled into vessels as warm as the shelf, {shelf}, it comes to {filled}: chill the vessels too."
        filled = Quantity("temperature", _poured_c(case, cold_c), "up")
        notes.caution("warms-on-filling", "warning", text, at="/chill_in", filled=filled,
                      shelf=Quantity("temperature", CHILL_FROM_C))  # fmt: skip


def _poured_c(case: Case, cold_c: float) -> float:
    """Return the temperature at which drink and wall meet [degC]: m c (T - T1) = C_wall (T0 - T)."""
    liquid = mixture.heat_to_remove_kj(case.filled.masses, start_c=cold_c + 1.0, goal_c=cold_c)
    wall = case.filled.wall.heat_capacity_kj_per_k
    return (liquid * cold_c + wall * CHILL_FROM_C) / (liquid + wall)

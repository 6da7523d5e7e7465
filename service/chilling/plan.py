"""A chill: how long, by estimate or from a reading, how cold at the least, how much ice, and what is left out."""

from dataclasses import dataclass
from typing import Annotated

from service.chilling.asked import ChillAsked, Measured
from service.chilling.case import Case, Filled, case_of
from service.chilling.load import Load, check_ice, load_of, loaded_s
from service.declared import DURATION, TEMPERATURE, Inline, shape, text
from service.drink import Drink
from service.errors import Term
from service.limits.charging import WARMEST_ROOM_C
from service.limits.safety import THERMOMETER_ERROR_C
from service.limits.serving import CHILL_FROM_C, COLD_HOLD_C, COLD_PLATE_C, READING_SPREAD, WEAK_ABV
from service.notes import Notes
from service.science import mixture
from service.science.band import Band, combine
from service.science.mixture import ENVIRONMENTS
from service.science.units import Quantity
from service.site import EnvironmentKey

WARM_AIR_U_W_PER_M2_K = Band(7.0, 13.0, 25.0)
"""A cold vessel in a warm room: free convection 4.9 (Churchill and Chu 1975, 0.25 m) and radiation 5.0, nearly as much
convection again from moisture that condenses at 60 % humidity, more where the air moves or is damper (Durran and
Frierson 2013, doi:10.1063/PT.3.1958: more than twice as fast as in dry heat); less in a sleeve or a well; estimate."""


def time_s(case: Case, notes: Notes) -> Band:
    """Return the time to the goal of one vessel by itself; a reading takes the place of the estimated time constant.

    t = tau ln[(T0 - T_env)/(T1 - T_env)]

    returns: [s]; none where the drink is at its goal already
    source: `service.science.mixture.heat`, Newton's law of cooling
    """
    if case.start_c <= case.goal_c:
        return Band(0.0, 0.0, 0.0)
    u, reason = ENVIRONMENTS[case.place].u_w_per_m2_k, ENVIRONMENTS[case.place].reason
    tau = _time_constant_s(case.filled, case.start_c, case.goal_c, u)
    if case.measured is None:
        stated = Term("{typical} ({low} to {high})", typical=u.typical, low=u.low, high=u.high)
        notes.assume("heat transfer, W/(m2 K)", stated, "estimate", reason, at="/environment", code="heat-transfer")
    else:
        tau = _read_constant_s(case.measured, case.start_c, case.place_c, tau, notes)
    return _times(tau, case.start_c, case.goal_c, case.place_c)


def warming_s(case: Case, notes: Notes) -> Band | None:
    """Return the time to COLD_HOLD_C out of the cold [s]; None where the drink is no colder."""
    cold_from_c = min(case.start_c, case.goal_c)
    if not cold_from_c < COLD_HOLD_C:
        return None
    room = Quantity("temperature", WARMEST_ROOM_C)
    notes.assume(
        "room out of the cold", room, "common-practice", "dry and still at the late end, damp at the early one"
    )
    tau = _time_constant_s(case.filled, cold_from_c, COLD_HOLD_C, WARM_AIR_U_W_PER_M2_K)
    return _times(tau, cold_from_c, COLD_HOLD_C, WARMEST_ROOM_C)


def _time_constant_s(filled: Filled, start_c: float, goal_c: float, u_w_per_m2_k: Band) -> Band:
    return mixture.cooling_time_constant_s(
        filled.masses, temperature_c=(start_c + goal_c) / 2.0, wall=filled.wall, u_w_per_m2_k=u_w_per_m2_k
    )


def _times(time_constant_s: Band, start_c: float, goal_c: float, place_c: float) -> Band:
    one = mixture.time_to_s(start_c=start_c, goal_c=goal_c, environment_c=place_c, time_constant_s=1.0)
    return time_constant_s.map(lambda tau_s: tau_s * one)


def _read_constant_s(measured: Measured, start_c: float, place_c: float, estimated: Band, notes: Notes) -> Band:
    """Return the time constant from one reading, give or take thermometer and place [s].

    tau = t / ln[(T0 - T_env)/(T - T_env)]
    """

    def read(error_c: float) -> float:
        return mixture.time_constant_from_reading_s(
            start_c=start_c,
            reading_c=measured.temperature_c + error_c,
            environment_c=place_c,
            elapsed_s=measured.after_s,
        )

    tau_s = read(0.0)
    wanders = (tau_s * (1.0 - READING_SPREAD), tau_s * (1.0 + READING_SPREAD))
    tau = combine(tau_s, [(read(-THERMOMETER_ERROR_C), read(THERMOMETER_ERROR_C)), wanders])
    notes.assume("error of the thermometer, °C", THERMOMETER_ERROR_C, "estimate", at="/measured/temperature")
    notes.assume("how far the time constant wanders after the reading", READING_SPREAD, "estimate", at="/measured")
    within = {"before": _half_percent(estimated), "after": _half_percent(tau)}
    if within["after"] < within["before"]:
        text = "The reading narrows the time from about ±{before} % to ±{after} %."
        notes.caution("calibrated", "info", text, at="/measured", **within)
    else:
        text = "The reading does not narrow the time: ±{after} % with it, ±{before} % without; read again later."
        notes.caution("not-narrowed", "info", text, at="/measured", **within)
    if not estimated.low <= tau_s <= estimated.high:
        text = "Check thermometer, start and place: the reading is outside what such a place usually does."
        notes.caution("unusual-reading", "warning", text, at="/measured")
    return tau


def _half_percent(band: Band) -> float:
    return float(round(50.0 * (band.high - band.low) / band.typical))


DENSEST_C = 4.0
"""Water is densest at 3.98 degC; IAPWS-95."""


@shape("ChillPlanBody")
@dataclass(frozen=True)
class Chilling:
    """The time that it takes, and how cold it may get.

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
        text = "No chilling is needed: at {start} the drink is at or below the goal of {goal}."
        notes.caution("already-cold", "info", text, at="/start_temperature", start=start, goal=goal)
    if ice_percent > 0.0:
        text = "Take it out at {goal}, and look at the first check: left there, {ice} % of the water turns to ice."
        ice = float(round(ice_percent, 1))
        notes.caution("freezes-if-left", "warning", text, at="/environment", ice=ice, goal=goal)
    if ENVIRONMENTS[case.place].medium == "air" and case.vessel_count > 1:
        text = "Leave a finger's breadth between the vessels: where they touch, it takes longer."
        notes.caution("crowded", "info", text, at="/environment")
    if case.place == "fridge" and case.goal_c < case.freezing.typical + COLD_PLATE_C:
        text = (
            "Keep the drink off the cold plate of the fridge: it is up to {colder} °C colder there, and ice may form."
        )
        notes.caution("cold-plate", "warning", text, at="/environment", colder=COLD_PLATE_C)
    if case.drink.abv < WEAK_ABV and case.goal_c < DENSEST_C + 1.0:
        densest = Quantity("temperature", DENSEST_C)
        text = "Give it longer: near {densest} a weak drink stops stirring itself."
        notes.caution("slow-near-4-c", "info", text, at="/goal_temperature", densest=densest)


def _caution_warm(case: Case, warming: Band | None, notes: Notes) -> None:
    """Warn of a drink in too warm a place, one out of the cold, one poured cold into warm vessels."""
    place = Quantity("temperature", case.place_c)
    cold_c = min(case.start_c, case.goal_c)
    if case.place_c > max(COLD_HOLD_C, cold_c):
        text = "Keep it somewhere colder: at {place} it warms past {warm}."
        notes.caution("warms-there", "warning", text, at="/environment_temperature", place=place,
                      warm=Quantity("temperature", COLD_HOLD_C))  # fmt: skip
    if warming is not None:
        text = "Put it back into the cold between charges: out of it, it is at {warm} again after {low} to {high}."
        notes.caution("warms-outside", "info", text, at="/goal_temperature", warm=Quantity("temperature", COLD_HOLD_C),
                      low=Quantity("duration", warming.low), high=Quantity("duration", warming.high))  # fmt: skip
    if case.chill_in == "jug":
        text = "Chill the vessels too: filled into vessels as warm as the shelf, {shelf}, it comes to {filled}."
        filled = Quantity("temperature", _poured_c(case, cold_c), "up")
        notes.caution("warms-on-filling", "warning", text, at="/chill_in", filled=filled,
                      shelf=Quantity("temperature", CHILL_FROM_C))  # fmt: skip


def _poured_c(case: Case, cold_c: float) -> float:
    """Return the temperature at which drink and wall meet [degC]: m c (T - T1) = C_wall (T0 - T)."""
    liquid = mixture.heat_to_remove_kj(case.filled.masses, start_c=cold_c + 1.0, goal_c=cold_c)
    wall = case.filled.wall.heat_capacity_kj_per_k
    return (liquid * cold_c + wall * CHILL_FROM_C) / (liquid + wall)

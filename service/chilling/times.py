"""The time that it takes: from the estimated time constant, or from one that the bar has read."""

from service.chilling.asked import Measured
from service.chilling.case import Case, Filled
from service.errors import Term
from service.limits.charging import WARMEST_ROOM_C
from service.limits.safety import THERMOMETER_ERROR_C
from service.limits.serving import COLD_HOLD_C, READING_SPREAD
from service.notes import Notes
from service.science import mixture
from service.science.band import Band, combine
from service.science.mixture import ENVIRONMENTS
from service.science.units import Quantity

WARM_AIR_U_W_PER_M2_K = Band(7.0, 13.0, 25.0)
"""A cold vessel in a warm room: free convection 4.9 (Churchill and Chu 1975, 0.25 m) and radiation 5.0, nearly as much
convection again from moisture that condenses at 60 % humidity, more where the air moves or is damper (Durran and
Frierson 2013, doi:10.1063/PT.3.1958: more than twice as fast as in dry heat); less in a sleeve or a well; estimate."""


def time_s(case: Case, notes: Notes) -> Band:
    """Return the time to the goal of one vessel by itself; a reading takes the place of the estimated time constant.

    t = tau ln[(T0 - T_env)/(T1 - T_env)]

    returns: [s]; none where the drink is at its goal already
    source: `service.science.mixture.cooling`, Newton's law of cooling
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
    if _half_percent(tau) < _half_percent(estimated):
        text = "The reading narrows the time from about ±{before} % to ±{after} %."
    else:
        text = "The reading does not narrow the time: ±{after} % with it, ±{before} % without; read again later."
    notes.caution("calibrated", "info", text, at="/measured", before=_half_percent(estimated), after=_half_percent(tau))
    if not estimated.low <= tau_s <= estimated.high:
        text = "Check thermometer, start and place: the reading is outside what such a place usually does."
        notes.caution("unusual-reading", "warning", text, at="/measured")
    return tau


def _half_percent(band: Band) -> float:
    return float(round(50.0 * (band.high - band.low) / band.typical))

"""Kegs: held on gas they need no re-gas; and what is lost where the gas runs out."""

from dataclasses import replace
from datetime import datetime
from math import inf

from service.limits.serving import WARMEST_POUR_C
from service.notes import Notes
from service.regas.case import Case
from service.regas.planning import caution_glasses, crossing, on_floor, pours_of, rotation_of, turns
from service.regas.rates import ON_GAS, Rates
from service.regas.results import Forecast, KegGlass, WithoutGas, gains_of
from service.regas.serving import Runs, follow, held_at, keg, shut
from service.safety import Judgement
from service.science.band import Band
from service.science.units import Quantity
from service.science.vessel import Poured
from service.setting import set_point_judged


def on_gas(case: Case, starts_at: datetime | None, vessel_count: int, wanted: int, notes: Notes) -> Forecast:
    """Return the forecast of kegs, which stay connected and lose nothing but the drink."""
    setting, hold = case.setting, _hold(case, notes)
    if case.holding_c > WARMEST_POUR_C:
        text = (
            "Pour it colder: losses on pouring are known up to {most}, and warmer even a gentle pour may lose twice "
            "as much."
        )
        notes.caution("warm-pour", "warning", text, at="/temperature", most=Quantity("temperature", WARMEST_POUR_C))

    count = min(case.pours, wanted)

    def again(one: Case) -> Runs:
        held_bar_abs = one.hold_bar_gauge(one.co2_g_per_l) + setting.ambient_bar
        return follow(one, lambda rates: keg(one, held_at(held_bar_abs), count, rates), ON_GAS)

    runs = again(case)
    served = runs.served(case.manner)
    order = turns((case.pours,), vessel_count=vessel_count, pours=wanted)
    caution_glasses(case, served, order, notes)
    pours = pours_of(case, starts_at, served, order)
    return Forecast(
        pours=pours,
        floor_g_per_l=case.floor_g_per_l,
        floor_crossed=crossing(pours, case.floor_g_per_l),
        hold_pressure_bar=hold,
        without_gas=_without_gas(case, count, notes),
        rotation=rotation_of(case, starts_at, order),
        last_glass=served[-1].glass,
        gains=gains_of(case, runs, again),
    )


def _hold(case: Case, notes: Notes) -> Band | None:
    """Return the gauge pressure that holds the level; None where that is not to be dialled."""
    judgement = set_point_judged(case.setting, case.setting.closed(case.holding_c), case.co2_g_per_l)
    hold = case.hold_bar_gauge(case.co2_g_per_l)
    say_on_gas(judgement, hold, notes, at="/vessel")
    if not judgement.passes:
        return None
    return case.without_air.set_point_band(case.liquid, case.co2_g_per_l, typical=hold)


def say_on_gas(judgement: Judgement, hold_bar_gauge: float, notes: Notes, *, at: str) -> None:
    """Tell that nothing is to be done but to leave it connected; a warning where keg or regulator do not stand that.

    judgement: of the keg with all that is in it, its air too; hold_bar_gauge: the dial that it is left on
    """
    if judgement.passes:
        text = "Hold it at {hold}: a keg stays on gas and needs no re-gas."
        notes.caution("keg-on-gas", "info", text, at=at, hold=Quantity("pressure", hold_bar_gauge))
        return
    text = "Do not hold it at {hold}: keg and regulator allow {never_over} here. It goes flatter."
    notes.caution(
        "no-safe-hold", "warning", text, at=at, hold=Quantity("pressure", judgement.dial_bar_gauge, "up"),
        never_over=Quantity("pressure", max(0.0, judgement.never_over_bar_gauge), "down"),
    )  # fmt: skip


def _without_gas(case: Case, count: int, notes: Notes) -> WithoutGas:
    """Return the keg poured down cut off from its gas, until it is at the air pressure and nothing comes any more.

    Closed, it loses no CO2 to the room; but the drink gives up some of its own to fill the place of what was poured:
    typically as a keg at rest does, at the high end, as where it is moved or jolted, at once.
    source: `service.science.vessel.rest_closed`
    """
    at_rest_per_s = case.usual.resting_per_s

    def cut_off(rates: Rates) -> tuple[Poured, ...]:
        jolted = rates.resting_per_s > at_rest_per_s
        return keg(case, shut, count, replace(rates, resting_per_s=inf) if jolted else rates)

    served = follow(case, cut_off, ON_GAS).served(case.manner)
    low, typical, high = (on_floor((getattr(one.gauge, end) for one in served), 0.0) for end in _ENDS)
    least, likely, most = (on_floor((getattr(one.glass, end) for one in served), case.floor_g_per_l) for end in _ENDS)
    flowing = Band(low, typical, high)
    text = (
        "Keep the keg on its gas: cut off and left still it gives about {glasses} glasses at this pace, {good} of "
        "them not below the floor of {floor}. Moved or left for hours it gives more, each flatter."
    )
    notes.caution("gas-runs-out", "info", text, at="/vessel", glasses=flowing.typical,
                  good=float(min(likely, typical)), floor=Quantity("co2", case.floor_g_per_l))  # fmt: skip
    good = Band(min(least, low), min(likely, typical), min(most, high))
    levels = [KegGlass(i, one.bottle, one.glass, one.gauge) for i, one in enumerate(served[:typical], 1)]
    return WithoutGas(flowing, good, 1000.0 * (case.liquid_l - typical * case.pour_l), tuple(levels))


_ENDS = ("low", "typical", "high")

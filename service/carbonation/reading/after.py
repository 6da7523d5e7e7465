"""Advice that follows from a reading: how the drink is brought to its target."""

from collections.abc import Iterator

from service import safety
from service.carbonation.advice import Advice
from service.carbonation.runs import Plan, level_g_per_l, runs
from service.limits.charging import MORE_SHARE, REST_S, SHAKE_S, WARM_CHARGE_C
from service.notes import Value
from service.science.band import Band
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.setting import Setting


def advised_after(
    setting: Setting, temperature_c: float, level: Band, target_g_per_l: float, *, again: bool
) -> Iterator[Advice]:
    """Yield what brings the drink to its target within the vessel's limits, with the level it comes to.

    again: it may be put on the gas once more
    """
    if again and level.typical < (1.0 - MORE_SHARE) * target_g_per_l:
        yield from _charge_again(setting, temperature_c, level, target_g_per_l)
    elif level.typical > (1.0 + MORE_SHARE) * target_g_per_l:
        yield from _vent(setting, temperature_c, target_g_per_l)


def _charge_again(setting: Setting, temperature_c: float, level: Band, target_g_per_l: float) -> Iterator[Advice]:
    """Yield one more charge, or the gas that a keg is left on, where a dial that passes brings more."""
    cold_c = safety.chargeable_c(setting.drink, setting.vessel, temperature_c)
    if cold_c > WARM_CHARGE_C:  # a dial for a warm drink overcharges it once it is cold
        cold_c = safety.cold_c(setting.drink)
    liquid = setting.liquid_at(cold_c)
    most_bar = setting.closed(cold_c, level.high).never_over_bar_gauge
    dial_bar = min(setting.set_point_bar_gauge(liquid, target_g_per_l), rounded_down(most_bar, 0.01))
    if not dial_bar > max(0.0, setting.set_point_bar_gauge(liquid, level.typical)):
        return
    plan = Plan(
        setting, cold_c, target_g_per_l, level.typical, dial_bar, 1, SHAKE_S, REST_S, "shaken", setting.vessel.is_keg
    )
    params: dict[str, Value] = {"dial": Quantity("pressure", dial_bar, "down")}
    chill = cold_c != temperature_c
    if chill:
        params["temperature"] = Quantity("temperature", cold_c)
    if plan.connected:
        text = "Leave it on the gas at {dial}."
        if chill:
            text = "Chill it to {temperature}. Leave it on the gas at {dial}."
        yield Advice("leave-on-gas", text, params, plan.level_at_rest)
        return
    params["shake"] = Quantity("duration", SHAKE_S)
    text = "Charge it once more at {dial}, shaking for {shake}."
    if chill:
        text = "Chill it to {temperature}. Charge it once more at {dial}, shaking for {shake}."
    yield Advice("charge-again", text, params, runs(plan).band(1, level_g_per_l))


def _vent(setting: Setting, temperature_c: float, target_g_per_l: float) -> Iterator[Advice]:
    """Yield the gauge to vent to, where the level at it is under the target's."""
    liquid = setting.liquid_at(temperature_c)
    most_bar = setting.closed(temperature_c).never_over_bar_gauge
    gauge_bar = min(setting.set_point_bar_gauge(liquid, target_g_per_l), rounded_down(most_bar, 0.01))
    if gauge_bar > 0.0:
        ends = (liquid.less_soluble, liquid, liquid.more_soluble)
        comes_to = Band(*(setting.level_g_per_l(end, gauge_bar) for end in ends))
        params: dict[str, Value] = {"gauge": Quantity("pressure", gauge_bar)}
        yield Advice("vent", "Vent it slowly, cold, until the gauge comes to rest at {gauge}.", params, comes_to)

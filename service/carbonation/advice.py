"""Changes that bring a drink nearer to a target, each worked out: before a charge, and after a reading."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, NamedTuple

from service import safety
from service.carbonation.runs import Plan, Runs, level_g_per_l, runs
from service.declared import CO2, CODE, Params, Sentence, shape
from service.limits.charging import COLDER_C, HIGHER_BAR, MORE_SHARE, REST_S, SHAKE_S, WARM_CHARGE_C
from service.limits.safety import GAUGE_ERROR_BAR
from service.notes import Value
from service.safety import Judgement
from service.science.band import Band
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.setting import Setting
from service.site import fitting_purge, usual_air_handling

MORE = "one-more-charge"


@shape("ChargeAdvice")
@dataclass(frozen=True)
class Advice:
    """One change that helps, within the vessel's limits, and the level it comes to; what helps most comes first."""

    code: Annotated[str, CODE]
    change: Sentence
    params: Params
    co2_g_per_l: Annotated[Band, CO2]

    @property
    def text(self) -> Sentence:
        """Return the same sentence, under the name that every sentence of an answer has."""
        return self.change


def advised(plan: Plan, made: Runs, judgement: Judgement) -> tuple[Advice, ...]:
    """Return changes that keep within the vessel's limits, each on its own, that come to more; the best first.

    made: the charges of the plan; judgement: of its dial
    """
    least = _comes_to(plan, made).typical * (1.0 + 1e-9)  # less is rounding
    tried = (
        Advice(one.code, one.change, one.params, _comes_to(one.plan, made if one.code == MORE else None))
        for one in _changes(plan, judgement)
    )
    helps = (found for found in tried if found.co2_g_per_l.typical > least)
    return tuple(sorted(helps, key=lambda found: -found.co2_g_per_l.typical))


def _comes_to(plan: Plan, made: Runs | None) -> Band:
    """Return the level after the charges; of a keg that stays on the gas, at rest [g/L].

    made: charges to go on from, of a plan that differs in their number alone
    """
    if plan.connected:
        return plan.level_at_rest
    charges = runs(plan) if made is None else made.to_the_end_of(plan)
    return charges.band(plan.count, level_g_per_l)


class Tried(NamedTuple):
    """A change that is tried: its code and sentence, and the plan as changed."""

    code: str
    change: str
    params: Mapping[str, Value]
    plan: Plan


def _changes(plan: Plan, judgement: Judgement) -> Iterator[Tried]:
    """Yield the changes that are tried."""
    colder_c = max(plan.temperature_c - COLDER_C, safety.lowest_charging_c(plan.setting.drink))
    colder = Judgement(replace(judgement.closed, temperature_c=colder_c), plan.dial_bar_gauge)
    if colder_c < plan.temperature_c and colder.passes:
        params: dict[str, Value] = {"temperature": Quantity("temperature", colder_c, "up")}
        air = fitting_purge(plan.setting.air, colder.never_over_bar_gauge)
        chilled = replace(plan, temperature_c=colder_c, setting=replace(plan.setting, air=air))
        yield Tried("colder", "Chill it to {temperature} first.", params, chilled)
    if plan.setting.air.method == "left":
        air = usual_air_handling(plan.setting.vessel, judgement.never_over_bar_gauge)
        without = replace(plan, setting=replace(plan.setting, air=air))
        yield Tried("air-out", "Take the air out before you charge it.", {}, without)
    shake = {"shake": Quantity("duration", 2.0 * plan.shake_s)}
    yield Tried("longer-shake", "Shake it for {shake} each time.", shake, replace(plan, shake_s=2.0 * plan.shake_s))
    count = plan.count + 1
    yield Tried(MORE, "Charge it {count} times.", {"count": float(count)}, replace(plan, count=count))
    most = judgement.never_over_bar_gauge - GAUGE_ERROR_BAR  # so that there is room for error
    dial = rounded_down(min(plan.dial_bar_gauge + HIGHER_BAR, most), 0.01)
    if dial > plan.dial_bar_gauge:
        pressures: dict[str, Value] = {
            "dial": Quantity("pressure", dial, "down"),
            "never_over": Quantity("pressure", judgement.never_over_bar_gauge, "down"),
        }
        higher = replace(plan, dial_bar_gauge=dial)
        yield Tried("higher-pressure", "Set {dial}, never over {never_over}.", pressures, higher)


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
    """Yield the gauge to vent to, once it is cold, where the level at it is under the target's."""
    cold_c = safety.cool_enough_c(setting.drink, setting.vessel, temperature_c)
    liquid = setting.liquid_at(cold_c)
    most_bar = setting.closed(cold_c).never_over_bar_gauge
    gauge_bar = min(setting.set_point_bar_gauge(liquid, target_g_per_l), rounded_down(most_bar, 0.01))
    if gauge_bar > 0.0:
        ends = (liquid.less_soluble, liquid, liquid.more_soluble)
        comes_to = Band(*(setting.level_g_per_l(end, gauge_bar) for end in ends))
        params: dict[str, Value] = {"gauge": Quantity("pressure", gauge_bar)}
        text = "Vent it slowly, cold, until the gauge comes to rest at {gauge}."
        if cold_c != temperature_c:
            text = "Chill it to {temperature}. Vent it slowly, cold, until the gauge comes to rest at {gauge}."
            params["temperature"] = Quantity("temperature", cold_c)
        yield Advice("vent", text, params, comes_to)

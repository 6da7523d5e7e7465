"""What follows from a reading: whether the vessel bears it, and what brings the drink to its target."""

from collections.abc import Iterator
from math import isfinite

from service import safety
from service.carbonation.advice import Advice
from service.carbonation.runs import Plan, level_g_per_l, runs
from service.notes import Notes, Value
from service.safety import NOT_APPROVAL, Judgement
from service.science.band import Band
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.setting import Setting

MORE_SHARE = 0.05
"""How far from its target a drink still is on it, share of it; common practice, no source."""
SHAKE_S, REST_S = 30.0, 60.0
"""Of one more charge; common practice, no source."""
OVER_NOW = (
    "The gauge is over what this {vessel} stands, {limit}. Do not touch, warm or open it: keep everyone away, let it "
    "get cold where it is, and ask a competent person."
)
OVER_WARM = (
    "This {vessel} could reach {reached} at {room}; its limit is {limit}. Do not warm, carry or shake it. Keep it "
    "cold, goggles on, face away, and vent it slowly, a little at a time."
)
BEYOND = (
    "This {vessel} could pass {reached} at {room}, where the gas equations end; its limit is {limit}. Do not warm, "
    "carry or shake it. Keep it cold, goggles on, face away, and vent it slowly, a little at a time."
)
UNTIL = " It is within its limit with {dial} on the gauge, at rest at {temperature}."


def say_where_it_stands(setting: Setting, judgement: Judgement, gauge_bar: float | None, notes: Notes) -> None:
    """A danger where the vessel is over its limit, or could be once warm; a warning near it."""
    limit_bar = setting.vessel.closed_limit_bar_gauge
    at = "/gauge_pressure" if gauge_bar is not None else "/mass_after"
    reached = min(judgement.reached_bar_gauge, judgement.equations_to_bar_gauge)
    said: dict[str, Value] = {
        "vessel": setting.vessel.kind,
        "limit": Quantity("pressure", limit_bar, "down"),
        "reached": Quantity("pressure", reached, "up"),
        "room": Quantity("temperature", judgement.warm_room_c),
    }
    if gauge_bar is not None and gauge_bar > limit_bar:
        notes.caution("over-vessel-limit", "danger", f"{OVER_NOW} {NOT_APPROVAL}", at=at, **_only(said, OVER_NOW))
    elif judgement.reached_bar_gauge > limit_bar:
        text = OVER_WARM if isfinite(judgement.reached_bar_gauge) else BEYOND
        dial_bar = setting.closed(judgement.closed.temperature_c).never_over_bar_gauge
        if dial_bar > 0.0:
            text += UNTIL
            said["dial"] = Quantity("pressure", dial_bar, "down")
            said["temperature"] = Quantity("temperature", judgement.closed.temperature_c)
        notes.caution("over-vessel-limit", "danger", f"{text} {NOT_APPROVAL}", at=at, **said)
    elif "closed-limit" in judgement.near:
        text = "This {vessel} could reach {reached} at {room}; its limit is {limit}. Keep it cold."
        notes.caution("near-limit", "warning", f"{text} {NOT_APPROVAL}", at=at, **said)


def _only(said: dict[str, Value], text: str) -> dict[str, Value]:
    return {name: value for name, value in said.items() if f"{{{name}}}" in text}


def what_next(setting: Setting, temperature_c: float, level: Band, target_g_per_l: float) -> Iterator[Advice]:
    """What brings the drink to its target within the vessel's limits, with the level it comes to."""
    if level.typical < (1.0 - MORE_SHARE) * target_g_per_l:
        yield from _charge_again(setting, temperature_c, level, target_g_per_l)
    elif level.typical > (1.0 + MORE_SHARE) * target_g_per_l:
        yield from _vent(setting, temperature_c, target_g_per_l)


def _charge_again(setting: Setting, temperature_c: float, level: Band, target_g_per_l: float) -> Iterator[Advice]:
    cold_c = safety.chargeable_c(setting.drink, setting.vessel, temperature_c)
    liquid = setting.liquid_at(cold_c)
    most_bar = setting.closed(cold_c, level.typical).never_over_bar_gauge
    dial_bar = min(setting.set_point_bar_gauge(liquid, target_g_per_l), rounded_down(most_bar, 0.01))
    if not dial_bar > max(0.0, setting.set_point_bar_gauge(liquid, level.typical)):
        return
    plan = Plan(
        setting, cold_c, target_g_per_l, level.typical, dial_bar, 1, SHAKE_S, REST_S, "shaken", setting.vessel.is_keg
    )
    said: dict[str, Value] = {"dial": Quantity("pressure", dial_bar, "down")}
    first = ""
    if cold_c != temperature_c:
        first, said["temperature"] = "Chill to {temperature}. ", Quantity("temperature", cold_c)
    if plan.connected:
        yield Advice("leave-on-gas", f"{first}Leave it on the gas at {{dial}}.", said, plan.level_at_rest)
        return
    said["shake"] = Quantity("duration", SHAKE_S)
    comes_to = runs(plan).band(1, level_g_per_l)
    yield Advice("charge-again", f"{first}Charge once more at {{dial}}, shaking for {{shake}}.", said, comes_to)


def _vent(setting: Setting, temperature_c: float, target_g_per_l: float) -> Iterator[Advice]:
    liquid = setting.liquid_at(temperature_c)
    most_bar = setting.closed(temperature_c).never_over_bar_gauge
    gauge_bar = min(setting.set_point_bar_gauge(liquid, target_g_per_l), rounded_down(most_bar, 0.01))
    if gauge_bar > 0.0:
        ends = (liquid.less_soluble, liquid, liquid.more_soluble)
        comes_to = Band(*(setting.level_g_per_l(end, gauge_bar) for end in ends))
        said: dict[str, Value] = {"gauge": Quantity("pressure", gauge_bar)}
        yield Advice("vent", "Vent slowly, cold, until the gauge comes to rest at {gauge}.", said, comes_to)

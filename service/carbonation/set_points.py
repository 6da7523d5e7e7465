"""The dial for a CO2 level, at each temperature the drink might be charged at; and a known one, for the probe."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite
from typing import Annotated, Literal

from service import safety
from service.carbonation.asked import Target, target_of
from service.declared import CO2, CODE, PRESSURE, TEMPERATURE, Declared, Params, Sentence, items, shape, temperature
from service.drink import Drink, DrinkGiven
from service.errors import Refusals, Refused, SeveralRefused, within_validity
from service.limits.vessels import PET_BAR
from service.notes import Notes, Value
from service.request import Request
from service.safety import Judgement
from service.science.band import Band
from service.science.constants import ATMOSPHERE_BAR
from service.science.gas import Liquid, pressure_for_bar_abs
from service.science.mixture import masses_of
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.setting import (
    Setting,
    SettingGiven,
    beyond_equations,
    check_target,
    set_point_judged,
    setting_of,
    within_limits,
)
from service.site import Air


@dataclass(frozen=True, kw_only=True)
class SetPointsAsked(SettingGiven):
    """The CO2 wanted in a drink, and the temperatures it might be charged at."""

    target_g_per_l: Target = None
    temperatures_c: Annotated[
        tuple[Annotated[float, temperature(low=-30.0, high=60.0)], ...],
        items(50),
        "1 °C unless stated, or as near to it as the drink stands.",
    ] = ()


@dataclass(frozen=True, kw_only=True)
class SetPointsRequest(Request, SetPointsAsked):
    """A drink, the CO2 wanted in it, and the temperatures it might be charged at."""

    drink: Declared[DrinkGiven]


@dataclass(frozen=True)
class VesselNeeds:
    """The limits that a vessel needs to be charged so, at the upper ends; no closed_limit beyond the gas equations."""

    charge_limit_bar: Annotated[float, PRESSURE]
    closed_limit_bar: Annotated[float | None, PRESSURE]
    warm_room_c: Annotated[float, TEMPERATURE]


@dataclass(frozen=True)
class SetPoint:
    """The set-point at one temperature. limits: what binds there, or nearly does, such as closed-limit or air."""

    temperature_c: Annotated[float, TEMPERATURE]
    limits: Declared[tuple[Annotated[str, CODE], ...]]
    gauge_pressure_bar: Annotated[Band | None, PRESSURE] = None
    vessel_needs: Annotated[VesselNeeds | None, "Where the request names no vessel, and so none is judged."] = None
    problem: Declared[Refused | SeveralRefused | None] = None

    @property
    def status(self) -> Declared[Literal["ok", "refused"]]:
        return "ok" if self.problem is None else "refused"

    @property
    def dial_bar_gauge(self) -> Band:
        """Return the set-point where the temperature is not refused [bar gauge]."""
        assert self.gauge_pressure_bar is not None
        return self.gauge_pressure_bar


@dataclass(frozen=True)
class HighestCo2:
    """The most CO2 that the vessel allows at a temperature, at rest under the highest dial that passes."""

    temperature_c: Annotated[float, TEMPERATURE]
    co2_g_per_l: Annotated[float, CO2]


@dataclass(frozen=True)
class Sensitivity:
    """The effect of one change on the dial of the first point that is ok: a difference, not a pressure."""

    code: Annotated[str, CODE]
    change: Sentence
    gauge_pressure_bar: Annotated[float, PRESSURE]
    params: Params

    @property
    def text(self) -> Sentence:
        return self.change


@shape("SetPointsBody")
@dataclass(frozen=True)
class SetPoints:
    """The dial at each temperature, the most that can be reached, and what moves it."""

    points: Declared[tuple[SetPoint, ...]]
    highest: Declared[tuple[HighestCo2, ...]]
    sensitivities: Declared[tuple[Sensitivity, ...]]
    setting: Setting
    target_g_per_l: float


def set_points(drink: Drink, asked: SetPointsAsked, notes: Notes) -> SetPoints:
    """Return the dial that holds the target at each temperature, and whether the vessel stands it.

    Without a vessel nothing is judged, and every point tells what one would have to bear.

    raises: Refused, SeveralRefused where no temperature is left
    """
    refusals = Refusals()
    setting = setting_of(drink, asked, "asked", notes, refusals)
    with refusals.gather():
        safety.check_dead(drink)
    temperatures_c = asked.temperatures_c
    if not temperatures_c:
        temperatures_c = (safety.cold_c(drink),)
        notes.assume("temperature", Quantity("temperature", temperatures_c[0]), "common-practice", at="/temperatures")
    setting = within_limits(setting, temperatures_c, notes=notes, refusals=refusals)
    charged_c = [safety.chargeable_c(drink, setting.vessel, t) for t in temperatures_c]
    first_c = next((t for t, works in zip(temperatures_c, charged_c, strict=True) if t == works), charged_c[0])
    target = target_of(asked.target_g_per_l, setting, setting.closed(first_c, setting.brought_g_per_l), notes)
    return set_points_in(setting, temperatures_c, target, notes, refusals)


def set_points_in(
    setting: Setting, temperatures_c: Sequence[float], target: float, notes: Notes, refusals: Refusals
) -> SetPoints:
    """Return what `set_points` does, in a setting that is worked out already.

    refusals: gathered so far, raised along with those of the points
    """
    airless = replace(setting, air=Air("none"))
    found = [_point(setting, airless, t, target, notes, at=f"/temperatures/{i}") for i, t in enumerate(temperatures_c)]
    safety.caution_charging(setting.drink, notes)
    points = tuple(point for point, _ in found)
    if all(point.problem is not None for point in points):
        with refusals.gather():
            raise _nowhere(points)
    refusals.raise_any()
    answered = [(p, j) for p, j in found if p.problem is None]
    if setting.vessel.is_judged:
        safety.check(max((j for _, j in answered), key=lambda j: j.reached_bar_gauge), notes, at="/target")
    else:
        _caution_needs([p for p, _ in answered], notes)
    first = answered[0][1]
    return SetPoints(points, tuple(_highest(setting, found)), _sensitivities(setting, first, target), setting, target)


def _highest(setting: Setting, found: Sequence[tuple[SetPoint, Judgement]]) -> Iterator[HighestCo2]:
    """Yield the most that the vessel allows where the drink is charged; nothing without a vessel."""
    if not setting.vessel.is_judged:
        return
    for point, judgement in found:
        charged = "freezing" not in point.limits and "too-warm" not in point.limits
        if charged and judgement.never_over_bar_gauge > 0.0:
            liquid = setting.liquid_at(judgement.closed.temperature_c)
            yield HighestCo2(point.temperature_c, setting.level_g_per_l(liquid, judgement.never_over_bar_gauge))


def _point(
    setting: Setting, airless: Setting, temperature_c: float, target: float, notes: Notes, *, at: str
) -> tuple[SetPoint, Judgement]:
    """Return one point; where the temperature is refused, the target is judged at the one that is offered instead.

    airless: the setting without any air left in
    """
    refusals, drink, dial = Refusals(), setting.drink, Band(0.0, 0.0, 0.0)
    with refusals.gather():
        safety.check_temperature(drink, setting.vessel, temperature_c, at=at)
    works_c = safety.chargeable_c(drink, setting.vessel, temperature_c)
    judgement = set_point_judged(setting, setting.closed(works_c, setting.brought_g_per_l), target)
    with refusals.gather():
        if setting.vessel.is_judged:
            check_target(setting, judgement, target, Notes())  # one warning for all points comes at the end
            safety.check_cold_dial(drink, works_c, judgement.dial_bar_gauge, at=at)
        dial = _dial(setting, works_c, target, judgement, at)
    try:
        refusals.raise_any()
    except (Refused, SeveralRefused) as refused:
        codes = (f.code for r in _each(refused) for f in r.faults)
        limits = tuple(dict.fromkeys("freezing" if code == "would-freeze" else code for code in codes))
        return SetPoint(temperature_c, (*limits, *_air(airless, target, judgement)), problem=refused), judgement
    if setting.vessel.is_judged:
        safety.caution_warm_charging(temperature_c, notes, at=at)
    limits = (*judgement.near, *_air(airless, target, judgement))
    needs = None if setting.vessel.is_judged else _needs(dial, judgement)
    return SetPoint(temperature_c, limits, dial, needs), judgement


def _dial(setting: Setting, temperature_c: float, target: float, judgement: Judgement, at: str) -> Band:
    """Return the set-point with its ends.

    raises: Refused where one of them is beyond the gas equations
    """
    with within_validity(at, beyond_equations):
        return setting.set_point_band(setting.liquid_at(temperature_c), target, typical=judgement.dial_bar_gauge)


def _needs(dial: Band, judgement: Judgement) -> VesselNeeds:
    """Return the limits that a vessel needs for a dial."""
    reached = judgement.reached_bar_gauge
    return VesselNeeds(max(0.0, dial.high), reached if isfinite(reached) else None, judgement.warm_room_c)


def _caution_needs(points: Sequence[SetPoint], notes: Notes) -> None:
    """Warn where hardly any bottle bears what the drink needs, or no regulator holds it.

    Of several points the worst is warned of.
    """
    needs = [point.vessel_needs for point in points if point.vessel_needs is not None]
    worst = max(needs, key=lambda need: inf if need.closed_limit_bar is None else need.closed_limit_bar)
    room, most = Quantity("temperature", worst.warm_room_c), Quantity("pressure", PET_BAR["closed"], "down")
    if worst.closed_limit_bar is None:
        text = "Closed and at {room} this could pass where the gas equations end; no bottle is charged to it."
        notes.caution("beyond-equations", "danger", text, at="/target", room=room)
    elif worst.closed_limit_bar > most.value:
        text = (
            "Closed and at {room} this could reach {reached}; a usual PET bottle stands {most}. Charge it only in a "
            "vessel that is rated for it."
        )
        reached = Quantity("pressure", worst.closed_limit_bar, "up")
        notes.caution("beyond-usual-bottle", "danger", text, at="/target", room=room, reached=reached, most=most)
    if min(point.dial_bar_gauge.typical for point in points) < 0.0:
        text = "No regulator holds this level where the dial is below nought: it goes no lower than the air pressure."
        notes.caution("below-atmospheric", "warning", text, at="/target")


def _each(refused: Refused | SeveralRefused) -> tuple[Refused, ...]:
    """Return the refusals one by one."""
    return refused.refusals if isinstance(refused, SeveralRefused) else (refused,)


def _air(airless: Setting, target: float, judgement: Judgement) -> tuple[str, ...]:
    """Return ("air",) where a limit binds only for the air that is left in."""
    if not judgement.vessel.is_judged or (judgement.passes and not judgement.near):
        return ()
    without = set_point_judged(airless, judgement.closed, target)
    return ("air",) if len(without.near) < len(judgement.near) or without.passes > judgement.passes else ()


def _nowhere(points: Sequence[SetPoint]) -> SeveralRefused:
    """Return the refusals of the first point that can be mended, and of those that the same target mends with it."""
    refused = [_each(p.problem) for p in points if p.problem is not None]
    first = next((point for point in refused if all(one.nearest for one in point)), refused[0])
    works = {n.pointer: n for one in first for n in one.nearest}
    kept = list(first)
    for one in (one for point in refused if point is not first for one in point):
        known = all(n.pointer in works or n.pointer.startswith("/temperatures/") for n in one.nearest)
        known_faults = {(f.pointer, f.code) for k in kept for f in k.faults}
        new = [f for f in one.faults if (f.pointer, f.code) not in known_faults]  # else the same with other numbers
        if known and one.nearest and new:
            nearest = [works.get(n.pointer, n) for n in one.nearest]
            kept.append(Refused(one.slug, new, facts=one.facts, nearest=nearest))
    return SeveralRefused(kept)


def _sensitivities(setting: Setting, judgement: Judgement, target: float) -> tuple[Sensitivity, ...]:
    """Return what changes of one input at a time do; one that leaves the science's range is left out.

    judgement: of the set-point as it is
    """
    liquid, here = setting.liquid_at(judgement.closed.temperature_c), judgement.dial_bar_gauge
    warmer_c = liquid.temperature_c + 1.0
    temperatures = {"at": Quantity("temperature", liquid.temperature_c), "to": Quantity("temperature", warmer_c)}
    levels = {"at": Quantity("co2", target), "to": Quantity("co2", target + 0.5)}
    changes: tuple[tuple[str, Mapping[str, Value], Callable[[], Liquid], float], ...] = (
        ("temperature", temperatures, lambda: liquid.at(warmer_c), target),
        ("abv", {}, lambda: replace(liquid, abv=liquid.abv + 1.0), target),
        ("sugar", {}, lambda: replace(liquid, sucrose_g_per_l=liquid.sucrose_g_per_l + 10.0), target),
        ("target", levels, lambda: liquid, target + 0.5),
    )
    found = []
    for code, params, changed, level in changes:
        try:
            gauge_bar = setting.set_point_bar_gauge(changed(), level)
        except OutsideValidity:
            continue
        found.append(Sensitivity(code, _CHANGES[code], gauge_bar - here, params))
    return tuple(found)


_CHANGES = {
    "temperature": "{to} instead of {at}",
    "abv": "1 %vol stronger",
    "sugar": "10 g/l more sugar",
    "target": "{to} of CO2 instead of {at}",
}


def self_check() -> None:
    """Work out 7 g/L in a drink of 9 %vol and 70 g/L sugar at 1 degC, no air, at sea level: about 1.5 bar gauge.

    raises: RuntimeError unless it comes to 1.2 to 1.8 bar
    source: the worked case of the trade, common practice, no source
    """
    drink = Drink(masses_of(1000.0, abv=9.0, sugar_g_per_l=70.0), 0.0)
    gauge = pressure_for_bar_abs(drink.absorbs_co2(1.0), co2_g_per_l=7.0) - ATMOSPHERE_BAR
    if not 1.2 <= gauge <= 1.8:
        raise RuntimeError(f"the worked set-point came to {gauge:.3f} bar gauge instead of about 1.5")

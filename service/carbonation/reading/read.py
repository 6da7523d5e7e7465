"""The CO2 of a vessel by its gauge at rest or its weight, how near that is to the target, and whether it is safe."""

from dataclasses import dataclass, replace
from math import hypot, inf, isfinite
from typing import Annotated, Literal

from service import safety
from service.carbonation.advice import Advice, advised_after
from service.carbonation.asked import target_of
from service.carbonation.checking import WarmRoom
from service.carbonation.reading.asked import ReadingAsked
from service.carbonation.reading.by_gauge import by_gauge
from service.carbonation.reading.by_weight import by_weight
from service.declared import CO2, Declared
from service.drink import Drink
from service.errors import Refusals
from service.limits.charging import ICE_BATH_C, MORE_SHARE, SAME_BAR
from service.limits.safety import GAUGE_ERROR_BAR, THERMOMETER_ERROR_C
from service.notes import Notes
from service.safety import Judgement
from service.safety.standing import check_thawed, could_reach_bar_gauge, has_gas_cushion, retired_by_warmth
from service.science.band import Band
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.science.vessel import at_rest, rest_closed, warmed
from service.setting import Setting, SettingGiven, setting_of, within_limits
from service.vessel import most_fill


@dataclass(frozen=True)
class Reading:
    """The content of the vessel, by which reading, and how far that is from the target."""

    target_g_per_l: float
    co2_g_per_l: Annotated[Band, CO2, "By the better known reading; all that lies between them where they disagree."]
    co2_once_cold_g_per_l: Annotated[
        Band | None,
        CO2,
        "Of a drink too warm to charge: once its closed vessel is as cold as it is charged; the verdict goes by it.",
    ]
    by_gauge: Annotated[Band | None, CO2]
    by_weight: Annotated[Band | None, CO2]
    warm_room: Annotated[
        WarmRoom | None, "What the vessel could reach, at its worst; absent where no equation holds for that."
    ]
    advice: Declared[tuple[Advice, ...]]

    @property
    def verdict(
        self,
    ) -> Annotated[Literal["short", "on-target", "over"], "Against the target, to a twentieth of it."]:
        ratio = (self.co2_once_cold_g_per_l or self.co2_g_per_l).typical / self.target_g_per_l
        return "short" if ratio < 1.0 - MORE_SHARE else "over" if ratio > 1.0 + MORE_SHARE else "on-target"


def read(drink: Drink, asked: ReadingAsked, notes: Notes) -> Reading:
    """Return the CO2 level of a closed vessel by its gauge, its weight or both, at least one of which is given.

    The vessel is as it is: nothing about its state refuses a reading, as far as the equations hold.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    setting = setting_of(drink, asked, "observed", notes, refusals)
    thermometer = _thermometer(asked, notes)
    _check_drink(drink, thermometer.typical, refusals)
    refusals.raise_any()
    here_c = thermometer.typical
    setting = _as_warm(setting, here_c, notes)
    setting = within_limits(setting, [here_c], observed=True, notes=notes, refusals=refusals)
    gauge: Band | None = None
    weight: Band | None = None
    with refusals.gather():
        gauge = by_gauge(setting, thermometer, asked, notes)
    with refusals.gather():
        weight = by_weight(setting, here_c, asked, notes)
    refusals.raise_any()
    level = _together(gauge, weight, notes)
    judged_c = thermometer.low + THERMOMETER_ERROR_C  # a colder drink holds more at the same gauge
    judgement = _judged(setting, judged_c, asked.gauge_pressure_bar, gauge, weight)
    target = _target(asked.target_g_per_l, setting, here_c, notes)
    once_cold = _once_cold(setting, here_c, level)
    _caution_gauge(asked, setting, once_cold or level, target, notes)
    at = "/mass_after" if asked.gauge_pressure_bar is None else "/gauge_pressure"
    safety.caution_standing(judgement, asked.gauge_pressure_bar, notes, at=at)
    retired = retired_by_warmth(setting.vessel, here_c, notes, at="/temperature")
    again = not retired and _may_be_charged(drink, asked)
    advice = _advice(setting, here_c, once_cold or level, target, judgement, again=again)
    return Reading(target, level, once_cold, gauge, weight, _warm_room(judgement), advice)


def _once_cold(setting: Setting, here_c: float, level: Band) -> Band | None:
    """Return the level of a warm drink once its vessel, closed, is as cold as it is charged, and at rest [g/L].

    Warm, it has given up CO2 to its headspace, which it takes up again. None of a cold drink, and where the equations
    do not reach.
    source: `service.science.vessel.rest_closed`
    """
    cold_c = safety.cool_enough_c(setting.drink, setting.vessel, here_c)
    if cold_c == here_c:
        return None
    liquid = setting.liquid_at(here_c)
    air_mol = setting.air_mol(liquid)

    def chilled(co2_g_per_l: float) -> float:
        warm = at_rest(
            liquid, liquid_l=setting.liquid_l, headspace_l=setting.headspace_l, co2_g_per_l=co2_g_per_l, air_mol=air_mol
        )
        return rest_closed(warmed(warm, cold_c), seconds=inf, uptake_per_s=1.0).co2_g_per_l

    try:
        return level.map(chilled)
    except OutsideValidity:
        return None


def _check_drink(drink: Drink, temperature_c: float, refusals: Refusals) -> None:
    """Gather the refusals of a drink that no reading tells the level of."""
    thawed = False
    with refusals.gather():
        check_thawed(drink, temperature_c)
        thawed = True
    if not thawed:  # nothing that says to cool it is said of ice
        return
    with refusals.gather():
        safety.check_dead(drink)
    with refusals.gather():
        safety.check_readable(drink, temperature_c)


def _warm_room(judgement: Judgement) -> WarmRoom | None:
    """Return what the vessel could reach where it is judged; None beyond the gas equations."""
    if not isfinite(could_reach_bar_gauge(judgement)):
        return None
    return WarmRoom(judgement.warm_room_c, judgement.worst)


def _as_warm(setting: Setting, here_c: float, notes: Notes) -> Setting:
    """Return the setting judged as warm as the vessel may get, and no colder than it is.

    A keg that left its cold room is judged in the warmest room.
    """
    kept_c = setting.vessel.kept_at_c
    if kept_c is None or here_c <= kept_c:
        return replace(setting, warm_room_c=max(setting.warm_room_c, here_c))
    warm_c = max(setting.room_c, here_c)
    text = (
        "Cool it, and vent it once it is cold: its cold room failed. At {here} it is warmer than the {kept_at} it is "
        "kept at, and is judged at {room}."
    )
    notes.caution(
        "cold-room-failed", "warning", text, at="/temperature", here=Quantity("temperature", here_c),
        kept_at=Quantity("temperature", kept_c), room=Quantity("temperature", warm_c),
    )  # fmt: skip
    return replace(setting, warm_room_c=warm_c)


def _thermometer(asked: ReadingAsked, notes: Notes) -> Band:
    """Return the temperature of the drink with its ends; that of melting ice where it stood there and was not read."""
    read_c = asked.temperature_c
    if read_c is None:
        source = "melting ice around it: 0 to 2 °C"
        here = Quantity("temperature", ICE_BATH_C.typical)
        notes.assume("temperature", here, "common-practice", source, at="/temperature")
        return ICE_BATH_C
    error = THERMOMETER_ERROR_C
    return Band(read_c - error, read_c, read_c + error)


def _target(given: float | None, setting: Setting, here_c: float, notes: Notes) -> float:
    """Return the level that the reading is held against."""
    cold_c = safety.chargeable_c(setting.drink, setting.vessel, here_c)
    if not has_gas_cushion(Judgement(setting.closed(cold_c), 0.0)):  # so full it is charged to no level
        setting = replace(setting, fill=most_fill(setting.vessel))
    return target_of(given, setting, setting.closed(cold_c), notes)


def _advice(
    setting: Setting, temperature_c: float, level: Band, target_g_per_l: float, judgement: Judgement, *, again: bool
) -> tuple[Advice, ...]:
    """Return what to do next; nothing for a vessel that is or could get over its limit, which is cooled and left alone.

    again: it may be put on the gas once more
    """
    if could_reach_bar_gauge(judgement) > setting.vessel.closed_limit_bar_gauge:
        return ()
    return tuple(advised_after(setting, temperature_c, level, target_g_per_l, again=again))


def _may_be_charged(drink: Drink, asked: ReadingAsked) -> bool:
    """Tell whether a charge could be planned: a fit vessel, not too full, on a regulator that suits it."""
    refusals = Refusals()
    given = SettingGiven(vessel=asked.vessel, fill=asked.fill, site=asked.site, now=asked.now)
    setting_of(drink, given, "planned", Notes(), refusals)
    return not refusals


def _agree(gauge: Band, weight: Band) -> bool:
    """Tell whether two readings of one level differ by no more than their errors together."""
    return abs(gauge.typical - weight.typical) <= hypot(_half(gauge), _half(weight))


def _half(band: Band) -> float:
    """Return half the width of a band."""
    return (band.high - band.low) / 2.0


def _together(gauge: Band | None, weight: Band | None, notes: Notes) -> Band:
    """Return the better known of two readings that agree; all that lies between them where they do not."""
    if gauge is None or weight is None:
        only = gauge or weight
        assert only is not None
        return only
    if _agree(gauge, weight):
        return min(gauge, weight, key=_half)
    text = (
        "Rest it cold and read again: the gauge says {gauge}, less than the weight, {weight}. Gas was lost since, or "
        "the vessel is overfull."
    )
    if gauge.typical > weight.typical:
        text = (
            "Rest it cold and read again: the gauge says {gauge}, more than the weight, {weight}. It was not at rest, "
            "is warmer than stated, or has air in it."
        )
    notes.caution(
        "readings-disagree", "warning", text, at=_BOTH,
        gauge=Quantity("co2", gauge.typical), weight=Quantity("co2", weight.typical),
    )  # fmt: skip
    middle = (gauge.typical + weight.typical) / 2.0
    return Band(min(gauge.low, weight.low), middle, max(gauge.high, weight.high))


def _judged(
    setting: Setting, temperature_c: float, gauge_bar: float | None, gauge: Band | None, weight: Band | None
) -> Judgement:
    """Return the vessel as it is held against its limit: by its gauge, and by its weight where no gauge confirms it."""
    found = []
    if gauge_bar is not None:
        found.append(Judgement(setting.closed(temperature_c), gauge_bar))
    if weight is not None and (gauge is None or not _agree(gauge, weight)):
        dial = setting.set_point_bar_gauge(setting.liquid_at(temperature_c), weight.typical)
        found.append(Judgement(setting.closed(temperature_c, weight.high), dial))
    return max(found, key=could_reach_bar_gauge)


def _caution_gauge(asked: ReadingAsked, setting: Setting, level: Band, target_g_per_l: float, notes: Notes) -> None:
    """Warn of a gauge that proves nothing, or cannot be at rest."""
    gauge_bar, dialled_bar_gauge = asked.gauge_pressure_bar, asked.dialled_bar_gauge
    if gauge_bar is None:
        return
    if level.typical < (1.0 - MORE_SHARE) * target_g_per_l and _under_cold(gauge_bar, setting, target_g_per_l):
        text = "Open it slowly: a low gauge proves nothing. It may be off, blocked, or read too soon."
        notes.caution("low-gauge", "warning", text, at="/gauge_pressure")
    if dialled_bar_gauge is None:
        return
    dialled = Quantity("pressure", dialled_bar_gauge)
    if gauge_bar > dialled_bar_gauge + GAUGE_ERROR_BAR:
        text = "It is not at rest, at more than the dial of {dialled}: it warmed, it ferments, or the gauge is off."
        notes.caution("over-dial", "warning", text, at="/gauge_pressure", dialled=dialled)
    elif abs(gauge_bar - dialled_bar_gauge) < SAME_BAR:
        text = "Read it again, off the gas and at rest: the gauge shows the dial itself, {dialled}."
        notes.caution("on-regulator", "warning", text, at="/gauge_pressure", dialled=dialled)


def _under_cold(gauge_bar: float, setting: Setting, target_g_per_l: float) -> bool:
    """Tell whether a gauge is low, and not only the level of a warm drink: under what holds the target when cold."""
    cold = setting.liquid_at(safety.cold_c(setting.drink))
    return gauge_bar < setting.set_point_bar_gauge(cold, target_g_per_l)


_BOTH = ("/gauge_pressure", "/mass_after")

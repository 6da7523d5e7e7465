"""What a gauge at rest, or the weight gained, says of the CO2 in a vessel, and whether the vessel bears it."""

from dataclasses import dataclass, replace
from datetime import datetime
from math import hypot, isfinite
from typing import Literal

from service import safety
from service.calibration import Calibration
from service.carbonation.advice import Advice
from service.carbonation.reading.after import what_next
from service.carbonation.reading.by_gauge import by_gauge
from service.carbonation.reading.by_weight import Weights, by_weight
from service.carbonation.target import target_of
from service.drink import Drink
from service.errors import Refusals
from service.limits.charging import ICE_BATH_C, MORE_SHARE, SAME_BAR
from service.limits.safety import GAUGE_ERROR_BAR, THERMOMETER_ERROR_C
from service.notes import Notes
from service.safety import Judgement
from service.safety.standing import check_thawed, could_reach_bar_gauge, cushioned
from service.science.band import Band
from service.science.units import Quantity
from service.setting import Setting, setting_of, within_limits
from service.site import Air, Site
from service.vessel import VesselGiven, most_fill

Verdict = Literal["short", "on-target", "over"]


@dataclass(frozen=True)
class Reading:
    """by_gauge, by_weight: of the two what was read; warm_bar_gauge: at judged_at_c, None past the equations."""

    co2_g_per_l: Band
    target_g_per_l: float
    by_gauge: Band | None
    by_weight: Band | None
    judged_at_c: float
    warm_bar_gauge: Band | None
    advice: tuple[Advice, ...]

    @property
    def verdict(self) -> Verdict:
        """Within a twentieth of the target is on target."""
        ratio = self.co2_g_per_l.typical / self.target_g_per_l
        return "short" if ratio < 1.0 - MORE_SHARE else "over" if ratio > 1.0 + MORE_SHARE else "on-target"


def read(  # noqa: PLR0913 - a reading is described by this many things, most of which a request may leave out
    drink: Drink,
    *,
    temperature_c: float | None = None,
    stood_in_ice: bool = False,
    gauge_bar: float | None = None,
    dialled_bar_gauge: float | None = None,
    weights: Weights | None = None,
    target_g_per_l: float | None = None,
    start_co2_g_per_l: float | None = None,
    vessel: VesselGiven | None = None,
    fill: float | None = None,
    air: Air | None = None,
    site: Site | None = None,
    calibration: Calibration | None = None,
    now: datetime | None = None,
    notes: Notes,
) -> Reading:
    """Return the CO2 level of a closed vessel by its gauge, its weight or both, at least one of which is given.

    The vessel is as it is: nothing about its state refuses a reading, as far as the equations hold.

    temperature_c: of the drink; None where it stood in melting ice and no thermometer was read
    dialled_bar_gauge: what the regulator showed when it was charged
    now: by which the age of the vessel is judged
    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    setting = setting_of(
        drink, vessel=vessel, fill=fill, air=air, site=site, calibration=calibration, now=now, question="observed",
        notes=notes, refusals=refusals,
    )  # fmt: skip
    thermometer, thawed = _thermometer(temperature_c, notes, in_ice=stood_in_ice), False
    with refusals.gather():
        check_thawed(drink, thermometer.typical)
        thawed = True
    if thawed:  # nothing that says to cool it is said of ice
        with refusals.gather():
            safety.check_dead(drink)
        with refusals.gather():
            safety.check_readable(drink, thermometer.typical)
    refusals.raise_any()
    here_c = thermometer.typical
    setting = _as_warm(setting, here_c, notes)
    setting = within_limits(setting, [here_c], observed=True, notes=notes, refusals=refusals)
    gauge, weight = None, None
    with refusals.gather():
        if gauge_bar is not None:
            gauge = by_gauge(setting, thermometer, gauge_bar, notes, known_air_pressure=_barometer(site))
    with refusals.gather():
        if weights is not None:
            weight = by_weight(setting, here_c, weights, start_co2_g_per_l, site, notes)
    refusals.raise_any()
    level = _together(gauge, weight, notes)
    judged_c = thermometer.low + THERMOMETER_ERROR_C  # a colder drink holds more at the same gauge
    judgement = _judged(setting, judged_c, gauge_bar, gauge, weight)
    target = _target(target_g_per_l, setting, here_c, notes)
    low = level.typical < (1.0 - MORE_SHARE) * target and _under_cold(gauge_bar, setting, target)
    _say_whether_at_rest(gauge_bar, dialled_bar_gauge, notes, low=low)
    at = "/mass_after" if gauge_bar is None else "/gauge_pressure"
    safety.caution_standing(judgement, gauge_bar, notes, at=at)
    again = _may_be_charged(drink, vessel, fill, site, now)
    return Reading(
        level, target, gauge, weight, judgement.warm_room_c,
        judgement.worst if isfinite(could_reach_bar_gauge(judgement)) else None,
        _advice(setting, here_c, level, target, judgement, again=again),
    )  # fmt: skip


def _as_warm(setting: Setting, here_c: float, notes: Notes) -> Setting:
    """Return the setting judged as warm as the vessel may get: a keg that left its cold in the warmest room, any vessel
    no colder than it is."""
    kept_c = setting.vessel.kept_at_c
    if kept_c is None or here_c <= kept_c:
        return replace(setting, warm_room_c=max(setting.warm_room_c, here_c))
    warm_c = max(setting.room_c, here_c)
    text = (
        "At {here} it is warmer than the {kept_at} it is kept at, and is judged at {room}: its cold room failed. Cool "
        "it, and vent it once it is cold."
    )
    notes.caution(
        "cold-room-failed", "warning", text, at="/temperature", here=Quantity("temperature", here_c),
        kept_at=Quantity("temperature", kept_c), room=Quantity("temperature", warm_c),
    )  # fmt: skip
    return replace(setting, warm_room_c=warm_c)


def _thermometer(temperature_c: float | None, notes: Notes, *, in_ice: bool) -> Band:
    """Return the temperature of the drink with its ends; from memory of its place where it was not read."""
    if temperature_c is None:
        assert in_ice
        source = "melting ice around it: 0 to 2 °C"
        here = Quantity("temperature", ICE_BATH_C.typical)
        notes.assume("temperature", here, "common-practice", source, at="/temperature")
        return ICE_BATH_C
    error = THERMOMETER_ERROR_C
    return Band(temperature_c - error, temperature_c, temperature_c + error)


def _target(given: float | None, setting: Setting, here_c: float, notes: Notes) -> float:
    """Return the level that the reading is held against."""
    cold_c = safety.chargeable_c(setting.drink, setting.vessel, here_c)
    if not cushioned(Judgement(setting.closed(cold_c), 0.0)):  # so full it is charged to no level
        setting = replace(setting, fill=most_fill(setting.vessel))
    return target_of(given, setting, setting.closed(cold_c), notes)


def _advice(
    setting: Setting, temperature_c: float, level: Band, target_g_per_l: float, judgement: Judgement, *, again: bool
) -> tuple[Advice, ...]:
    """Return none for a vessel that is over its limit, or could be once warm: it is cooled first, and left alone.

    again: it may be put on the gas once more
    """
    if could_reach_bar_gauge(judgement) > setting.vessel.closed_limit_bar_gauge:
        return ()
    return tuple(what_next(setting, temperature_c, level, target_g_per_l, again=again))


def _may_be_charged(
    drink: Drink, vessel: VesselGiven | None, fill: float | None, site: Site | None, now: datetime | None
) -> bool:
    """Tell whether a charge could be planned: a fit vessel, not too full, on a regulator that suits it."""
    refusals = Refusals()
    setting_of(
        drink, vessel=vessel, fill=fill, air=None, site=site, now=now, question="planned", notes=Notes(),
        refusals=refusals,
    )  # fmt: skip
    return not refusals


def _barometer(site: Site | None) -> bool:
    return site is not None and site.barometer_bar is not None


def _agree(gauge: Band, weight: Band) -> bool:
    return abs(gauge.typical - weight.typical) <= hypot(_half(gauge), _half(weight))


def _half(band: Band) -> float:
    return (band.high - band.low) / 2.0


def _together(gauge: Band | None, weight: Band | None, notes: Notes) -> Band:
    """The better known of two that agree; all that lies between them where they do not."""
    if gauge is None or weight is None:
        only = gauge or weight
        assert only is not None
        return only
    if _agree(gauge, weight):
        return min(gauge, weight, key=_half)
    text = (
        "The gauge says {gauge}, more than the weight, {weight}: not at rest, warmer than stated, or air in it."
        if gauge.typical > weight.typical
        else "The gauge says {gauge}, less than the weight, {weight}: gas was lost since, or the vessel is overfull."
    )
    notes.caution(
        "readings-disagree", "warning", f"{text} Rest it cold and read again.", at=_BOTH,
        gauge=Quantity("co2", gauge.typical), weight=Quantity("co2", weight.typical),
    )  # fmt: skip
    middle = (gauge.typical + weight.typical) / 2.0
    return Band(min(gauge.low, weight.low), middle, max(gauge.high, weight.high))


def _judged(
    setting: Setting, temperature_c: float, gauge_bar: float | None, gauge: Band | None, weight: Band | None
) -> Judgement:
    """The vessel as it is, held against its limit: by its gauge, and by its weight where no gauge bears that out."""
    found = []
    if gauge_bar is not None:
        found.append(Judgement(setting.closed(temperature_c), gauge_bar))
    if weight is not None and (gauge is None or not _agree(gauge, weight)):
        dial = setting.set_point_bar_gauge(setting.liquid_at(temperature_c), weight.typical)
        found.append(Judgement(setting.closed(temperature_c, weight.high), dial))
    return max(found, key=could_reach_bar_gauge)


def _under_cold(gauge_bar: float | None, setting: Setting, target_g_per_l: float) -> bool:
    """Tell whether a gauge is low, and not only the level of a warm drink: under what holds the target when cold."""
    if gauge_bar is None:
        return False
    cold = setting.liquid_at(safety.cold_c(setting.drink))
    return gauge_bar < setting.set_point_bar_gauge(cold, target_g_per_l)


def _say_whether_at_rest(gauge_bar: float | None, dialled_bar_gauge: float | None, notes: Notes, *, low: bool) -> None:
    """Warn of a gauge that proves nothing, or cannot be at rest."""
    if gauge_bar is None:
        return
    if low:
        text = "A low gauge proves nothing: it may be off, blocked, or read before the drink gave its gas. Open slowly."
        notes.caution("low-gauge", "warning", text, at="/gauge_pressure")
    if dialled_bar_gauge is None:
        return
    dialled = Quantity("pressure", dialled_bar_gauge)
    if gauge_bar > dialled_bar_gauge + GAUGE_ERROR_BAR:
        text = "Over what was dialled, {dialled}: it has warmed, something ferments, or the gauge is off. Not at rest."
        notes.caution("over-dial", "warning", text, at="/gauge_pressure", dialled=dialled)
    elif abs(gauge_bar - dialled_bar_gauge) < SAME_BAR:
        text = "Just what was dialled, {dialled}: still on the regulator, or read before the drink took the gas up?"
        notes.caution("on-regulator", "warning", text, at="/gauge_pressure", dialled=dialled)


_BOTH = ("/gauge_pressure", "/mass_after")

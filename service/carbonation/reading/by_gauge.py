"""The CO2 level of a drink at rest, by the gauge of its closed vessel."""

from collections.abc import Iterator

from service.carbonation.reading.asked import ReadingAsked
from service.errors import Fact, Fault, Refused, within_validity
from service.limits.charging import TOLD_AIR_BAR, WEATHER_SHARE
from service.limits.safety import AIR_ERROR, GAUGE_ERROR_BAR
from service.notes import Notes
from service.safety import WARMEST_C, beyond_equations, lowest_charging_c
from service.science.band import Band, combine
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid
from service.science.units import Quantity
from service.science.vessel import on_regulator, pressures_for_level_bar
from service.setting import Setting


def by_gauge(setting: Setting, thermometer: Band, asked: ReadingAsked, notes: Notes) -> Band | None:
    """Return the CO2 level at rest under the pressure that the gauge shows, less air and vapour's share of it [g/L].

    None where no gauge was read.

    c = s pc,  pc = Pgauge + Patm - pv - pa

    thermometer: temperature of the drink with its ends [degC]
    raises: Refused ("impossible-reading")
    source: Henry's law; GUM section 5.1 for the band
    """
    gauge_bar, liquid = asked.gauge_pressure_bar, setting.liquid_at(thermometer.typical)
    if gauge_bar is None:
        return None
    barometer = asked.site is not None and asked.site.barometer_bar is not None
    with within_validity("/gauge_pressure", beyond_equations):
        _check(setting, liquid, gauge_bar, notes)
        typical = _level(setting, liquid, gauge_bar)
        ends = _ends(setting, liquid, thermometer, gauge_bar, weather=not barometer)
        found = combine(typical, ends)
    tells_least = gauge_bar > 0.0 or not setting.vessel.soft  # collapsed, it may hold as little as nothing
    return Band(max(0.0, found.low) if tells_least else 0.0, typical, found.high)  # no drink holds less than nothing


def _level(
    setting: Setting, liquid: Liquid, gauge_bar: float, *, air: float = 1.0, ambient_bar: float | None = None
) -> float:
    """Return the level [g/L], nothing where air and vapour alone show as much.

    air: times the air that is taken to be left
    """
    _, level = on_regulator(
        liquid, liquid_l=setting.liquid_l, headspace_l=setting.headspace_l, air_mol=air * setting.air_mol(liquid),
        pressure_bar_abs=gauge_bar + (setting.ambient_bar if ambient_bar is None else ambient_bar),
    )  # fmt: skip
    return max(0.0, level) * CO2_G_PER_MOL


def _ends(
    setting: Setting, liquid: Liquid, thermometer: Band, gauge_bar: float, *, weather: bool
) -> Iterator[tuple[float, float]]:
    """Yield the levels with each cause alone at either end: solubility, gauge, thermometer, air, weather."""
    yield _level(setting, liquid.less_soluble, gauge_bar), _level(setting, liquid.more_soluble, gauge_bar)
    lowest_bar = max(gauge_bar - GAUGE_ERROR_BAR, _floor_bar(setting, liquid))
    yield _level(setting, liquid, lowest_bar), _level(setting, liquid, gauge_bar + GAUGE_ERROR_BAR)
    coldest_c = max(thermometer.low, lowest_charging_c(setting.drink))
    colder, warmer = (setting.liquid_at(t) for t in (coldest_c, min(thermometer.high, WARMEST_C)))
    yield _level(setting, colder, gauge_bar), _level(setting, warmer, gauge_bar)
    yield tuple(_level(setting, liquid, gauge_bar, air=1.0 + end) for end in (-AIR_ERROR, AIR_ERROR))  # type: ignore[misc]
    if weather:
        high, low = ((1.0 + end) * setting.ambient_bar for end in (WEATHER_SHARE, -WEATHER_SHARE))
        yield _level(setting, liquid, gauge_bar, ambient_bar=low), _level(setting, liquid, gauge_bar, ambient_bar=high)


def _floor_bar(setting: Setting, liquid: Liquid) -> float:
    """Return what the gauge shows of air and vapour alone [bar]."""
    return sum(_without_co2(setting, liquid), liquid.vapour_bar) - setting.ambient_bar


def _without_co2(setting: Setting, liquid: Liquid) -> tuple[float, float]:
    """Return the pressures of CO2 and of air where the drink holds no CO2 [bar]."""
    return pressures_for_level_bar(
        liquid, liquid_l=setting.liquid_l, headspace_l=setting.headspace_l, co2_g_per_l=0.0,
        air_mol=setting.air_mol(liquid),
    )  # fmt: skip


def _check(setting: Setting, liquid: Liquid, gauge_bar: float, notes: Notes) -> None:
    """Refuse less than nothing, and tell how much of the reading is air and vapour.

    raises: Refused ("impossible-reading")
    """
    floor_bar, (_, air_bar) = _floor_bar(setting, liquid), _without_co2(setting, liquid)
    soft = setting.vessel.soft
    least_bar = max(floor_bar, 0.0) if soft else floor_bar
    least = Quantity("pressure", least_bar, "up")
    if gauge_bar + setting.ambient_bar <= 0.0:
        text = "Read it again: at rest a gauge shows no less than {least} here."
        fault = Fault("/gauge_pressure", "below-vacuum", text, (("least", least),))
        raise Refused("impossible-reading", [fault], facts=[Fact("least_gauge", least)])
    if gauge_bar < least_bar - GAUGE_ERROR_BAR:
        text = (
            "Treat it as charged: the gauge reads low, since air and vapour, or a wall that gives way, show {least} "
            "here."
        )
        notes.caution("below-rest", "warning", text, at="/gauge_pressure", least=least)
    elif soft and gauge_bar <= 0.0:
        text = "Weigh it to know: a soft bottle gives way, and at nought it holds any level up to this, or none."
        notes.caution("soft-at-nought", "warning", text, at="/gauge_pressure")
    if gauge_bar <= floor_bar:
        text = "This gauge tells of no CO2: air and vapour alone show {floor}."
        notes.caution("no-co2", "warning", text, at="/gauge_pressure", floor=Quantity("pressure", floor_bar))
    elif air_bar > TOLD_AIR_BAR:
        text = "Take the air out to hold more CO2: {air} of this gauge is air, and is counted off."
        notes.caution("air-in-gauge", "info", text, at="/air", air=Quantity("pressure", air_bar))

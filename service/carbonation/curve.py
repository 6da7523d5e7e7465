"""Set-points between and around the temperatures that were asked for, to be drawn."""

from dataclasses import dataclass
from typing import Annotated

from service import safety
from service.carbonation.set_points import SetPoints
from service.declared import PRESSURE, TEMPERATURE
from service.science.band import Band
from service.science.validity import OutsideValidity
from service.setting import Setting

AROUND_C = 3.0
"""How far past the temperatures asked for the curve goes on [degC]."""
STEPS = 32


@dataclass(frozen=True)
class CurvePoint:
    """The set-point at one temperature, and the highest dial that passes there; none without a vessel."""

    temperature_c: Annotated[float, TEMPERATURE]
    gauge_pressure_bar: Annotated[Band, PRESSURE]
    never_over_bar: Annotated[float | None, PRESSURE]


def set_point_curve(found: SetPoints) -> tuple[CurvePoint, ...]:
    """Return evenly spaced points from below the coldest temperature asked for to above the warmest.

    Points end where the drink is not charged, and where the gas equations end.
    """
    asked_c = [point.temperature_c for point in found.points]
    low = safety.chargeable_c(found.setting.drink, found.setting.vessel, min(asked_c))
    low = max(low - AROUND_C, safety.lowest_charging_c(found.setting.drink))
    high = safety.warmest_charging_c(found.setting.vessel)
    high = max(low + 1.0, min(max(asked_c) + AROUND_C, high))
    points = []
    for step in range(STEPS + 1):
        try:
            points.append(_at(found.setting, found.target_g_per_l, low + (high - low) * step / STEPS))
        except OutsideValidity:
            break  # warmer takes more pressure still
    return tuple(points)


def _at(setting: Setting, target_g_per_l: float, temperature_c: float) -> CurvePoint:
    """Return the point at one temperature.

    raises: OutsideValidity
    """
    liquid = setting.liquid_at(temperature_c)
    dial = setting.set_point_bar_gauge(liquid, target_g_per_l)
    band = setting.set_point_band(liquid, target_g_per_l, typical=dial)
    if not setting.vessel.is_judged:
        return CurvePoint(temperature_c, band, None)
    never_over = setting.closed(temperature_c, setting.brought_g_per_l).never_over_bar_gauge
    return CurvePoint(temperature_c, band, never_over if never_over > 0.0 else None)

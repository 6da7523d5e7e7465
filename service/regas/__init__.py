"""Holding the CO2 through a shift: bottle and glass after each pour, and when and how to re-gas."""

from service.regas.case import FLOOR_G_PER_L, HOLDING_C, SMALLEST_POUR_ML, Pour
from service.regas.forecast import forecast
from service.regas.results import Forecast, Gain, PourForecast, Recharge, RegasAfter, RotationTurn

__all__ = [
    "FLOOR_G_PER_L",
    "HOLDING_C",
    "SMALLEST_POUR_ML",
    "Forecast",
    "Gain",
    "Pour",
    "PourForecast",
    "Recharge",
    "RegasAfter",
    "RotationTurn",
    "forecast",
]

"""Holding the CO2 through a shift: what each pour leaves, when and how to re-gas, what the logs say is left."""

from service.regas.case import FLOOR_G_PER_L, HOLDING_C, SMALLEST_POUR_ML, Pour, asked_pours
from service.regas.events import LEAST_POURED_ML
from service.regas.forecast import forecast
from service.regas.interval import Interval, first_glass, interval
from service.regas.log import Event, Start, VesselLog
from service.regas.reading import Correction
from service.regas.results import (
    Crossing,
    FirstRegas,
    Forecast,
    Gain,
    PourForecast,
    RegasAfter,
    RegasSettings,
    RotationTurn,
    WithoutGas,
)
from service.regas.states import MOST_EVENTS, MOST_VESSELS, Bar, RefusedVessel, States, VesselState, states

__all__ = [
    "FLOOR_G_PER_L",
    "HOLDING_C",
    "LEAST_POURED_ML",
    "MOST_EVENTS",
    "MOST_VESSELS",
    "SMALLEST_POUR_ML",
    "Bar",
    "Correction",
    "Crossing",
    "Event",
    "FirstRegas",
    "Forecast",
    "Gain",
    "Interval",
    "Pour",
    "PourForecast",
    "RefusedVessel",
    "RegasAfter",
    "RegasSettings",
    "RotationTurn",
    "Start",
    "States",
    "VesselLog",
    "VesselState",
    "WithoutGas",
    "asked_pours",
    "first_glass",
    "forecast",
    "interval",
    "states",
]

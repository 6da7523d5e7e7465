"""Holding the CO2 through a shift: what each pour leaves, when and how to re-gas, what the logs say is left."""

from service.regas.case import Pour, asked_pours
from service.regas.forecast import forecast
from service.regas.interval import Interval, first_glass, interval
from service.regas.log import Event, Start, VesselLog
from service.regas.reading import Correction
from service.regas.results import (
    Crossing,
    Forecast,
    Gain,
    PourForecast,
    Recharge,
    RegasAfter,
    RotationTurn,
    Top,
    WithoutGas,
)
from service.regas.states import Bar, RefusedVessel, States, VesselState, states

__all__ = [
    "Bar",
    "Correction",
    "Crossing",
    "Event",
    "Forecast",
    "Gain",
    "Interval",
    "Pour",
    "PourForecast",
    "Recharge",
    "RefusedVessel",
    "RegasAfter",
    "RotationTurn",
    "Start",
    "States",
    "Top",
    "VesselLog",
    "VesselState",
    "WithoutGas",
    "asked_pours",
    "first_glass",
    "forecast",
    "interval",
    "states",
]

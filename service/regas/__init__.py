"""Holding the CO2 through a shift: what each pour leaves, when and how to re-gas, what the logs say is left."""

from service.regas.asked import ForecastAsked, Pour, RegasForecastRequest
from service.regas.case import asked_pours
from service.regas.forecast import first_glass, forecast, interval
from service.regas.log import Event, Sale, Start, VesselLog
from service.regas.pools import Pool
from service.regas.results import Forecast, RegasAfter
from service.regas.states import states
from service.regas.vessels import RegasStatesRequest, States, VesselState

__all__ = [
    "Event",
    "Forecast",
    "ForecastAsked",
    "Pool",
    "Pour",
    "RegasAfter",
    "RegasForecastRequest",
    "RegasStatesRequest",
    "Sale",
    "Start",
    "States",
    "VesselLog",
    "VesselState",
    "asked_pours",
    "first_glass",
    "forecast",
    "interval",
    "states",
]

"""Holding the CO2 through a shift, on the wire."""

from service.api.regas import calibrations, forecasts, states
from service.api.regas.forecasts import RegasForecastBody, create_regas_forecast, write

__all__ = ["OPERATIONS", "RegasForecastBody", "create_regas_forecast", "write"]

OPERATIONS = (*forecasts.OPERATIONS, *states.OPERATIONS, *calibrations.OPERATIONS)

"""Carbonation on the wire: one module per operation."""

from typing import Any

from service import carbonation
from service.api import wire
from service.api.carbonation.charges import (
    CHARGES,
    ChargesAnswer,
    ChargesBody,
    ChargingFields,
    write_charges,
    write_warm_room,
)
from service.api.carbonation.gas_supply import GAS_SUPPLY, GasSupplyAnswer, GasSupplyBody, write_gas_supply
from service.api.carbonation.readings import READINGS, ReadingAnswer, write_reading
from service.api.carbonation.set_points import (
    SET_POINTS,
    write_set_point_curve,
)
from service.carbonation import SetPoints

SetPointsBody: Any = wire.answer_schema(SetPoints)
write_set_points = wire.write
__all__ = [
    "OPERATIONS",
    "ChargesAnswer",
    "ChargesBody",
    "ChargingFields",
    "GasSupplyAnswer",
    "GasSupplyBody",
    "ReadingAnswer",
    "SetPointsBody",
    "self_check",
    "write_charges",
    "write_gas_supply",
    "write_reading",
    "write_set_point_curve",
    "write_set_points",
    "write_warm_room",
]

self_check = carbonation.self_check

OPERATIONS = (SET_POINTS, READINGS, CHARGES, GAS_SUPPLY)

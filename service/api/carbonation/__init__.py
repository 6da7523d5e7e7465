"""Carbonation on the wire: one module per operation."""

from typing import Any

from service import carbonation
from service.api import wire
from service.api.carbonation.charges import CHARGES
from service.api.carbonation.gas_supply import GAS_SUPPLY
from service.api.carbonation.readings import READINGS
from service.api.carbonation.set_points import (
    SET_POINTS,
    write_set_point_curve,
)
from service.carbonation import Charging, SetPoints, WarmRoom, Worst

SetPointsBody: Any = wire.answer_schema(SetPoints)
ChargesBody: Any = wire.answer_schema(Charging)
WarmRoomBody: Any = wire.answer_schema(WarmRoom)
WorstBody: Any = wire.answer_schema(Worst)
write_set_points = write_charges = wire.write
__all__ = [
    "OPERATIONS",
    "ChargesBody",
    "SetPointsBody",
    "WarmRoomBody",
    "WorstBody",
    "self_check",
    "write_charges",
    "write_set_point_curve",
    "write_set_points",
]

self_check = carbonation.self_check

OPERATIONS = (SET_POINTS, READINGS, CHARGES, GAS_SUPPLY)

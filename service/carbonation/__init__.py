"""Force-carbonation: the dial for a CO2 level, and what a number of charges comes to."""

from service.carbonation.advice import Advice
from service.carbonation.charging import Charging, charge
from service.carbonation.readiness import self_check
from service.carbonation.set_points import Highest, Point, RefusedPoint, Sensitivity, SetPoints, set_points

__all__ = [
    "Advice",
    "Charging",
    "Highest",
    "Point",
    "RefusedPoint",
    "Sensitivity",
    "SetPoints",
    "charge",
    "self_check",
    "set_points",
]

"""Force-carbonation: the dial for a CO2 level, what charges come to, what a reading says, and the gas it takes."""

from service.carbonation.advice import Advice
from service.carbonation.charging import Charging, charge
from service.carbonation.checking import Check, Stop
from service.carbonation.curve import CurvePoint, set_point_curve
from service.carbonation.gas_supply import (
    BatchOfGas,
    BatchUse,
    Cylinder,
    Escape,
    GasSupply,
    Weighed,
    each_vessel_g,
    gas_supply,
)
from service.carbonation.readiness import self_check
from service.carbonation.reading import Reading, Weights, read
from service.carbonation.set_points import (
    Highest,
    Point,
    RefusedPoint,
    Sensitivity,
    SetPoints,
    VesselNeeds,
    set_points,
    set_points_in,
)

__all__ = [
    "Advice",
    "BatchOfGas",
    "BatchUse",
    "Charging",
    "Check",
    "CurvePoint",
    "Cylinder",
    "Escape",
    "GasSupply",
    "Highest",
    "Point",
    "Reading",
    "RefusedPoint",
    "Sensitivity",
    "SetPoints",
    "Stop",
    "VesselNeeds",
    "Weighed",
    "Weights",
    "charge",
    "each_vessel_g",
    "gas_supply",
    "read",
    "self_check",
    "set_point_curve",
    "set_points",
    "set_points_in",
]

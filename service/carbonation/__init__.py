"""Force-carbonation: the dial for a CO2 level, the outcome of charges, readings of a vessel, and the gas it takes."""

from service.carbonation.advice import Advice
from service.carbonation.asked import CarbonationPlan, ChargesAsked, ChargesRequest, StandardCarbonation
from service.carbonation.cautions import caution_cold_room
from service.carbonation.charging import charge
from service.carbonation.checking import Check, Stop, WarmRoom
from service.carbonation.curve import CurvePoint, set_point_curve
from service.carbonation.gas_supply import (
    BatchOfGas,
    BatchUse,
    Cylinder,
    Escape,
    GasSupply,
    GasSupplyRequest,
    Weighed,
    caution_cylinder,
    content_of,
    each_vessel_g,
    escape_of,
    gas_supply,
)
from service.carbonation.outcome import Charging, Worst
from service.carbonation.reading import Reading, ReadingAsked, ReadingRequest, read
from service.carbonation.set_points import (
    HighestCo2,
    Sensitivity,
    SetPoint,
    SetPoints,
    SetPointsAsked,
    SetPointsRequest,
    VesselNeeds,
    self_check,
    set_points,
    set_points_in,
)

__all__ = [
    "Advice",
    "BatchOfGas",
    "BatchUse",
    "CarbonationPlan",
    "ChargesAsked",
    "ChargesRequest",
    "Charging",
    "Check",
    "CurvePoint",
    "Cylinder",
    "Escape",
    "GasSupply",
    "GasSupplyRequest",
    "HighestCo2",
    "Reading",
    "ReadingAsked",
    "ReadingRequest",
    "Sensitivity",
    "SetPoint",
    "SetPoints",
    "SetPointsAsked",
    "SetPointsRequest",
    "StandardCarbonation",
    "Stop",
    "VesselNeeds",
    "WarmRoom",
    "Weighed",
    "Worst",
    "caution_cold_room",
    "caution_cylinder",
    "charge",
    "content_of",
    "each_vessel_g",
    "escape_of",
    "gas_supply",
    "read",
    "self_check",
    "set_point_curve",
    "set_points",
    "set_points_in",
]

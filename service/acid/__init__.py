"""Acids: solutions, adjustments and doses, what stands in for an acid, and the constants of each."""

from service.acid.additions import Bicarbonate, DilutionWater
from service.acid.adjustment import AcidAdjustmentRequest, Adjustment, AdjustmentMeans, adjust
from service.acid.cautions import burns
from service.acid.dosing import AcidDoseRequest, Dose, MeasuredAcid, dose
from service.acid.equivalents import AcidEquivalentsRequest, Equivalent, equivalent
from service.acid.liquid import AdjustedLiquid
from service.acid.references import AcidReferences, acid_references
from service.acid.solution import Solution, Weighing, for_component, make_solution
from service.acid.solution_request import AcidsAsWeighed, AcidSolutionRequest, WeighedAcid
from service.acid.titration import AcidTitration

__all__ = [
    "AcidAdjustmentRequest",
    "AcidDoseRequest",
    "AcidEquivalentsRequest",
    "AcidReferences",
    "AcidSolutionRequest",
    "AcidTitration",
    "AcidsAsWeighed",
    "AdjustedLiquid",
    "Adjustment",
    "AdjustmentMeans",
    "Bicarbonate",
    "DilutionWater",
    "Dose",
    "Equivalent",
    "MeasuredAcid",
    "Solution",
    "WeighedAcid",
    "Weighing",
    "acid_references",
    "adjust",
    "burns",
    "dose",
    "equivalent",
    "for_component",
    "make_solution",
]

"""Acids: solutions, adjustments and doses, what stands in for an acid, and the constants of each."""

from service.acid.additions import Water
from service.acid.adjustment import Added, Adjustment, AdjustmentGiven, Using, adjust
from service.acid.cautions import burns
from service.acid.composition import Mix, Product, SolutionGiven
from service.acid.deacidifying import Bicarbonate
from service.acid.dosing import Dose, DoseGiven, Measured, ServeState, dose
from service.acid.equivalents import Equivalent, EquivalentGiven, Swap, equivalent
from service.acid.limits import Solubility
from service.acid.liquid import LiquidGiven
from service.acid.references import AcidReferences, acid_references
from service.acid.solution import Haze, ScaleError, Solution, Weighing, for_component, make_solution
from service.acid.titration import Titrated, TitrationGiven
from service.acid.weighed import AsWeighed, WeighedGiven, WeighedProduct, make_as_weighed

__all__ = [
    "AcidReferences",
    "Added",
    "Adjustment",
    "AdjustmentGiven",
    "AsWeighed",
    "Bicarbonate",
    "Dose",
    "DoseGiven",
    "Equivalent",
    "EquivalentGiven",
    "Haze",
    "LiquidGiven",
    "Measured",
    "Mix",
    "Product",
    "ScaleError",
    "ServeState",
    "Solubility",
    "Solution",
    "SolutionGiven",
    "Swap",
    "Titrated",
    "TitrationGiven",
    "Using",
    "Water",
    "WeighedGiven",
    "WeighedProduct",
    "Weighing",
    "acid_references",
    "adjust",
    "burns",
    "dose",
    "equivalent",
    "for_component",
    "make_as_weighed",
    "make_solution",
]

"""One glass scaled to a batch: how much of what, what comes of it, what it costs and how long it keeps."""

from service.batching.allergens import Allergens, AllergenSource, allergens_of
from service.batching.batch import Batch, BatchRequest, more_than_water, scale
from service.batching.cost import Cost, ShoppingLine, check_prices, cost_of
from service.batching.depletion import Depletion
from service.batching.differences import Compared, Difference
from service.batching.dilution import Dilution
from service.batching.drift import BatchRounding, Drift
from service.batching.fills import HEEL, WHOLE_SERVES, Fill, WholeServes, fills_for, whole_serves_of
from service.batching.in_glass import InGlass, Melt
from service.batching.keeping import use_by
from service.batching.label import LABEL_STATEMENT, Label, canonical, spec_id
from service.batching.making import Glass, Made, glass_of, make
from service.batching.measures import Line, Purchase, Rounding, amount_of, by_jug_of
from service.batching.sizing import Loss, Size
from service.batching.stock import OnHand, Stock, StockLimit
from service.batching.supplies import Supply, names_of
from service.batching.totals import PerServe, StandardDrink, Totals
from service.batching.weighing import Share, Weighing, bears_at_once, check_scale
from service.drink import DILUTION_WATER
from service.site import Price
from service.vessel import SizedVessel

__all__ = [
    "DILUTION_WATER",
    "HEEL",
    "LABEL_STATEMENT",
    "WHOLE_SERVES",
    "AllergenSource",
    "Allergens",
    "Batch",
    "BatchRequest",
    "BatchRounding",
    "Compared",
    "Cost",
    "Depletion",
    "Difference",
    "Dilution",
    "Drift",
    "Fill",
    "Glass",
    "InGlass",
    "Label",
    "Line",
    "Loss",
    "Made",
    "Melt",
    "OnHand",
    "PerServe",
    "Price",
    "Purchase",
    "Rounding",
    "Share",
    "ShoppingLine",
    "Size",
    "SizedVessel",
    "StandardDrink",
    "Stock",
    "StockLimit",
    "Supply",
    "Totals",
    "Weighing",
    "WholeServes",
    "allergens_of",
    "amount_of",
    "bears_at_once",
    "by_jug_of",
    "canonical",
    "check_prices",
    "check_scale",
    "cost_of",
    "fills_for",
    "glass_of",
    "make",
    "more_than_water",
    "names_of",
    "scale",
    "spec_id",
    "use_by",
    "whole_serves_of",
]

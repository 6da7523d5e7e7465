"""One glass scaled to a batch: how much of what, what comes of it, what it costs and how long it keeps."""

from service.batching.allergens import Allergens
from service.batching.batch import Batch, more_than_water, scale
from service.batching.cost import Cost, Money, Price, Purchase, minor_digits
from service.batching.depletion import Depletion
from service.batching.differences import Compared, Difference
from service.batching.dilution import DILUTION_WATER, Dilution
from service.batching.drift import Drift
from service.batching.in_glass import InGlass, Melt
from service.batching.label import LABEL_STATEMENT, Label, canonical, spec_id
from service.batching.measures import Line, Rounding, amount_of
from service.batching.sizing import Fill, Loss, Size, SizedVessel, fills_for
from service.batching.stock import OnHand, StockLimit
from service.batching.supplies import Supply
from service.batching.totals import PerServe, StandardDrink, Totals
from service.batching.weighing import Share, Weighing

__all__ = [
    "DILUTION_WATER",
    "LABEL_STATEMENT",
    "Allergens",
    "Batch",
    "Compared",
    "Cost",
    "Depletion",
    "Difference",
    "Dilution",
    "Drift",
    "Fill",
    "InGlass",
    "Label",
    "Line",
    "Loss",
    "Melt",
    "Money",
    "OnHand",
    "PerServe",
    "Price",
    "Purchase",
    "Rounding",
    "Share",
    "Size",
    "SizedVessel",
    "StandardDrink",
    "StockLimit",
    "Supply",
    "Totals",
    "Weighing",
    "amount_of",
    "canonical",
    "fills_for",
    "minor_digits",
    "more_than_water",
    "scale",
    "spec_id",
]

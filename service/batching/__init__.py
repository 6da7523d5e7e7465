"""One glass scaled to a batch: how much of what, what comes of it, what it costs and how long it keeps."""

from service.batching.batch import Batch, scale
from service.batching.cost import Cost, Price, Purchase, minor_digits
from service.batching.dilution import DILUTION_WATER, Dilution
from service.batching.label import canonical, spec_id
from service.batching.measures import Line, Rounding, Share, Weighing, amount_of
from service.batching.sizing import Fill, Loss, Size, SizedVessel, StockLimit, fills_for
from service.batching.totals import PerServe, StandardDrink, Totals

__all__ = [
    "DILUTION_WATER",
    "Batch",
    "Cost",
    "Dilution",
    "Fill",
    "Line",
    "Loss",
    "PerServe",
    "Price",
    "Purchase",
    "Rounding",
    "Share",
    "Size",
    "SizedVessel",
    "StandardDrink",
    "StockLimit",
    "Totals",
    "Weighing",
    "amount_of",
    "canonical",
    "fills_for",
    "minor_digits",
    "scale",
    "spec_id",
]

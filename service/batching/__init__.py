"""One glass scaled to a batch: how much of what, what comes of it, what it costs and how long it keeps."""

from service.batching.allergens import Allergens, allergens_of
from service.batching.batch import Batch, BatchRequest, more_than_water, scale
from service.batching.cost import Cost, check_prices, cost_of
from service.batching.dilution import Dilution, Melt
from service.batching.fills import HEEL, WHOLE_SERVES, Fill, WholeServes, fills_for
from service.batching.label import LABEL_STATEMENT, canonical, spec_id, use_by
from service.batching.making import Glass, Made, glass_of, make
from service.batching.measures import Line, Rounding, amount_of, by_jug_of
from service.batching.sizing import Loss, Size
from service.batching.stock import StockLimit
from service.batching.supplies import names_of
from service.batching.weighing import Drift, Share, Weighing, bears_at_once, check_scale
from service.drink import DILUTION_WATER
from service.site import Price
from service.vessel import SizedVessel

__all__ = [
    "DILUTION_WATER",
    "HEEL",
    "LABEL_STATEMENT",
    "WHOLE_SERVES",
    "Allergens",
    "Batch",
    "BatchRequest",
    "Cost",
    "Dilution",
    "Drift",
    "Fill",
    "Glass",
    "Line",
    "Loss",
    "Made",
    "Melt",
    "Price",
    "Rounding",
    "Share",
    "Size",
    "SizedVessel",
    "StockLimit",
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
]

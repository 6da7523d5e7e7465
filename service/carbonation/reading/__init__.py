"""What a gauge at rest, or the weight gained, says of the CO2 in a vessel."""

from service.carbonation.reading.by_weight import Weights
from service.carbonation.reading.read import Reading, read

__all__ = ["Reading", "Weights", "read"]

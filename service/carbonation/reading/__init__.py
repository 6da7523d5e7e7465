"""The CO2 in a vessel by its gauge at rest, or by the weight it gained."""

from service.carbonation.reading.asked import ReadingAsked, ReadingRequest
from service.carbonation.reading.read import Reading, read

__all__ = ["Reading", "ReadingAsked", "ReadingRequest", "read"]

"""POST /v1/carbonation/readings."""

from service import carbonation
from service.api.endpoint import Operation
from service.carbonation import Reading, ReadingRequest
from service.drink import drink_of
from service.notes import Notes


def create_reading(asked: ReadingRequest, notes: Notes) -> Reading:
    """Answer the request."""
    return carbonation.read(drink_of(asked.drink, notes), asked, notes)


READINGS = Operation(
    path="/v1/carbonation/readings",
    operation_id="createReading",
    tag="carbonation",
    summary="The CO2 in a vessel by its gauge or its weight.",
    description=(
        "The level of a closed vessel at rest, from its gauge and temperature, from the weight it gained, or from "
        "both, and whether it is short of the target or over it. Residual air is counted off. What cannot be at rest "
        "is said; so is a vessel that could pass its limit. A low gauge never means that a vessel is safe."
    ),
    request=ReadingRequest,
    answer=Reading,
    pressure=True,
    view=create_reading,
)

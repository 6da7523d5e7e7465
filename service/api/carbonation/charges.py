"""POST /v1/carbonation/charges."""

from service import carbonation
from service.api.endpoint import Operation
from service.carbonation import ChargesRequest, Charging
from service.drink import drink_of
from service.notes import Notes


def create_charges(asked: ChargesRequest, notes: Notes) -> Charging:
    """Answer the request."""
    return carbonation.charge(drink_of(asked.drink, notes), asked, notes)


CHARGES = Operation(
    path="/v1/carbonation/charges",
    operation_id="createCharges",
    tag="carbonation",
    summary="What a number of charges comes to.",
    description=(
        "A charge fills the headspace to the dial, shakes connected, disconnects and rests. Safety is judged apart "
        "from that: at full equilibrium with the dial, in the warmest room. This is arithmetic, not approval: the "
        "maker's rating, local code and a competent person decide."
    ),
    request=ChargesRequest,
    answer=Charging,
    pressure=True,
    view=create_charges,
)

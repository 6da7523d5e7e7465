"""Carbonation on the wire: the operations under /v1/carbonation."""

from typing import Any

from service import carbonation
from service.api import wire
from service.api.answers import Answer
from service.api.endpoint import Body, Each, Operation, Served
from service.api.pages import plots
from service.carbonation import (
    ChargesRequest,
    Charging,
    GasSupply,
    GasSupplyRequest,
    Reading,
    ReadingRequest,
    SetPoints,
    SetPointsRequest,
    WarmRoom,
    Worst,
)
from service.drink import drink_of
from service.notes import Notes

ChargesBody: Any = wire.answer_schema(Charging)
SetPointsBody: Any = wire.answer_schema(SetPoints)
WarmRoomBody: Any = wire.answer_schema(WarmRoom)
WorstBody: Any = wire.answer_schema(Worst)
write_set_points = write_charges = wire.write
self_check = carbonation.self_check
MOST_TRIES = 200
"""How often in an answer what the refusal of a point offers is tried out: as often as any point may need."""


def create_set_points(asked: SetPointsRequest, notes: Notes) -> SetPoints:
    """Answer the request."""
    return carbonation.set_points(drink_of(asked.drink, notes), asked, notes)


def plot(served: Served[SetPointsRequest, SetPoints]) -> str:
    """Draw the set-point against temperature."""
    spec = served.asked.drink.spec
    named = {} if spec is None else {"name": spec.name}
    return plots.set_points({**served.body, **write_set_point_curve(served.found, served.answer), **named})


def write_set_point_curve(found: SetPoints, answer: Answer) -> Body:
    """Write the figures that `service.api.pages.plots.set_points` draws beside the answer itself."""
    return {
        "target": answer.q("co2", found.target_g_per_l),
        "judged": found.setting.vessel.is_judged,
        "curve": [wire.write(point, answer) for point in carbonation.set_point_curve(found)],
    }


def create_charges(asked: ChargesRequest, notes: Notes) -> Charging:
    """Answer the request."""
    return carbonation.charge(drink_of(asked.drink, notes), asked, notes)


def create_reading(asked: ReadingRequest, notes: Notes) -> Reading:
    """Answer the request."""
    return carbonation.read(drink_of(asked.drink, notes), asked, notes)


SET_POINTS = Operation(
    path="/v1/carbonation/set-points",
    operation_id="createSetPoints",
    tag="carbonation",
    summary="The dial for a CO2 level.",
    description=(
        "The gauge pressure that holds the target once drink and gas are at rest, at each temperature. Without a "
        "vessel nothing is judged, and each point tells what a vessel would have to bear; with one, whether it stands "
        "it. A point that is refused says why; all is refused only when no point is left."
    ),
    request=SetPointsRequest,
    answer=SetPoints,
    pressure=True,
    view=create_set_points,
    each=Each("temperatures", "points", tries=MOST_TRIES),
    forms={"svg": plot},
)
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
GAS_SUPPLY = Operation(
    path="/v1/carbonation/gas-supply",
    operation_id="createGasSupply",
    tag="carbonation",
    summary="What batches take from a cylinder, and what an escape of it comes to.",
    description=(
        "Gas for each batch with its headspaces, purges and losses; how often the cylinder serves them, at what weight "
        "to swap it; what its gauge shows, which does not tell the content; and the room if all of it escapes, against "
        "published exposure limits. This is arithmetic, not approval: local code and a competent person decide."
    ),
    request=GasSupplyRequest,
    answer=GasSupply,
    pressure=True,
    view=carbonation.gas_supply,
)
OPERATIONS = (SET_POINTS, READINGS, CHARGES, GAS_SUPPLY)

"""POST /v1/draught/lines: a keg to its tap."""

from service import draught
from service.api.endpoint import Operation
from service.draught import DraughtLine, DraughtLineRequest
from service.drink import drink_of
from service.notes import Notes


def create_draught_line(asked: DraughtLineRequest, notes: Notes) -> DraughtLine:
    """Answer the request."""
    return draught.draught_line(drink_of(asked.drink, notes), asked, notes, spec=asked.drink.spec)


LINES = Operation(
    path="/v1/draught/lines",
    operation_id="createDraughtLine",
    tag="draught",
    summary="What a dial does to a line from a keg to its tap.",
    description=(
        "The pour that a dial pushes through a line, what it loses on the way to friction and rise, where CO2 comes "
        "out, the length that balances it, the mix of CO2 and nitrogen that holds the level, and what the keg gives "
        "and loses. A line that pours too slowly is answered with a caution; what the dial does not lift is refused. "
        "A keg that is named is judged as one that is charged; without one it is told where a usual keg would not "
        "bear the dial. Printed rules of thumb for beer line come to between half and five thirds of what these "
        "equations give, and agree no better with each other: time a glass. This is arithmetic, not approval: the "
        "stamp, local code and a competent person decide."
    ),
    request=DraughtLineRequest,
    answer=DraughtLine,
    pressure=True,
    view=create_draught_line,
)
OPERATIONS = (LINES,)

"""POST /v1/chilling."""

from service import chilling
from service.api.endpoint import Operation
from service.chilling import Chilling, ChillPlanRequest
from service.drink import drink_of
from service.notes import Notes


def create_chill_plan(asked: ChillPlanRequest, notes: Notes) -> Chilling:
    """Answer POST /v1/chilling."""
    return chilling.chill(drink_of(asked.drink, notes), asked, notes)


OPERATIONS = (
    Operation(
        path="/v1/chilling",
        operation_id="createChillPlan",
        tag="chilling",
        summary="How long a drink takes to get cold, how cold it may get, and how much ice that takes.",
        description="Freezing point, lowest safe temperature in that place, and the time to the goal with its band: of "
        "one vessel, or of all of them where the place has not the power for so many. The heat, and the ice that it "
        "melts. One reading of a thermometer narrows the band. A charged vessel is refused a freezer and salted ice.",
        request=ChillPlanRequest,
        answer=Chilling,
        view=create_chill_plan,
        pressure=True,
    ),
)

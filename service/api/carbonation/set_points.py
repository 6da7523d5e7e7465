"""POST /v1/carbonation/set-points."""

from service import carbonation
from service.api import wire
from service.api.answers import Answer
from service.api.endpoint import Body, Operation, Served
from service.api.pages import plots
from service.carbonation import SetPoints, SetPointsRequest
from service.drink import drink_of
from service.notes import Notes


def create_set_points(asked: SetPointsRequest, notes: Notes) -> SetPoints:
    """Answer the request."""
    return carbonation.set_points(drink_of(asked.drink, notes), asked, notes)


def plot(served: Served[SetPointsRequest, SetPoints]) -> str:
    """Draw the set-point against temperature."""
    spec = served.asked.drink.spec
    named = {} if spec is None else {"name": spec.name}
    return plots.set_points({**served.body, **write_set_point_curve(served.found, served.answer), **named})


def write_set_point_curve(found: SetPoints, answer: Answer) -> Body:
    """Return what `service.api.pages.plots.set_points` takes beside the answer itself."""
    return {
        "target": answer.q("co2", found.target_g_per_l),
        "judged": found.setting.vessel.is_judged,
        "curve": [wire.write(point, answer) for point in carbonation.set_point_curve(found)],
    }


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
    forms={"svg": plot},
)

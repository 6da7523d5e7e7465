"""POST /v1/service-plans: an evening of several drinks."""

from service.api.endpoint import Operation
from service.api.pages import evening
from service.api.pages.ticket import QUERY
from service.evening import ServicePlan, ServicePlanRequest, service_plan, tried_plan

STATION = {
    "type": "string",
    "enum": list(evening.STATIONS),
    "description": "Whose tasks are listed, everybody's unless stated; with text only.",
}


SERVICE_PLANS = Operation(
    path="/v1/service-plans",
    operation_id="createServicePlan",
    tag="evening",
    summary="An evening of several drinks, from covers to the first pour.",
    description="How many bottles of what, whether it can be ready, when to start, who does what when, how much ice "
    "and gas, one shopping list, the re-gas calls. Every drink is planned as its prep sheet plans it; the timetable is "
    "the shortest that is found with the people and the gear there are, each task as late as it may. What cannot be "
    "ready is refused with what is short and with offers, each tried out. As HTML it is the board to hang up, as text "
    "the list of a station, as CSV a table, as SVG the time line, as iCalendar an event with an alarm for each task.",
    request=ServicePlanRequest,
    answer=ServicePlan,
    pressure=True,
    view=service_plan,
    tried=tried_plan,
    forms={
        "html": evening.board,
        "text": evening.listing,
        "csv": evening.table,
        "svg": evening.timeline,
        "ics": evening.calendar,
    },
    headers={"html": evening.HEADERS, "csv": evening.TABLE_HEADERS},
    query={**QUERY, "station": STATION},
)
OPERATIONS = (SERVICE_PLANS,)

"""POST /v1/chilling."""

from marshmallow import fields

from service import chilling as core
from service.api.answers import Answer, tidy
from service.api.endpoint import Body, Open, Operation, Part, Request
from service.api.quantities import Choice, Flag, QuantityField, band, number, q, says, text
from service.api.shapes import DrinkSchema, Envelope, VesselSchema, fill_field
from service.drink import drink_of
from service.notes import Notes
from service.science.mixture import ENVIRONMENTS


class ChillReading(Part):
    """One reading of a thermometer in the drink."""

    loads_to = core.Measured

    after = QuantityField(
        "duration",
        low=1.0,
        above=None,
        high=7 * 86400.0,
        required=True,
        attribute="after_s",
        metadata=says("Time in the cold when it was read."),
    )
    temperature = QuantityField("temperature", low=-25.0, high=45.0, required=True, attribute="temperature_c")


class ChillPlanRequest(Request):
    """What is chilled, from where to where: from 20 °C in ice-water to 1 °C, or as near as is safe, unless stated."""

    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(VesselSchema, metadata=says("Any material unless it is charged; default pet-1-l."))
    fill = fill_field(metadata=says("Liquid as a share of brimful; 0.80 unless stated."))
    charged = Flag(load_default=False, metadata=says("The vessel is already under pressure."))
    start_temperature = QuantityField("temperature", low=-15.0, high=45.0, attribute="start_c")
    goal_temperature = QuantityField("temperature", low=-25.0, high=30.0, attribute="goal_c")
    environment = Choice(*ENVIRONMENTS)
    environment_temperature = QuantityField("temperature", low=-40.0, high=25.0, attribute="environment_c")
    measured = fields.Nested(ChillReading)


class ChillPlanBody(Open):
    """How long it takes and how cold it may get."""

    environment = text(40)
    environment_temperature = q("temperature")
    goal_temperature = q("temperature")
    freezing_point = band("temperature")
    lowest_safe = q("temperature")
    time = band("duration")
    first_check = q("duration", metadata=says("Look at the thermometer then: the early end of the time."))
    ice_percent_at_environment = number(metadata=says("Share of the water that is ice if left."))
    warming = band("duration", required=False, metadata=says("From the goal to 5 °C in a room of 30 °C."))


class ChillPlanAnswer(Envelope, ChillPlanBody):
    """A chill, with what it rests on."""


def create_chill_plan(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/chilling."""
    drink = drink_of(asked.pop("drink"), notes)
    return write(core.chill(drink, notes=notes, **asked), answer)


def write(result: core.Chilling, answer: Answer) -> Body:
    """The plan in the caller's units."""
    body = {
        "environment": result.environment,
        "environment_temperature": answer.q("temperature", result.environment_c),
        "goal_temperature": answer.q("temperature", result.goal_c),
        "freezing_point": answer.band("temperature", result.freezing_point),
        "lowest_safe": answer.q("temperature", result.lowest_safe_c),
        "time": answer.band("duration", result.time_s),
        "first_check": answer.q("duration", result.first_check_s),
        "ice_percent_at_environment": tidy(result.ice_percent_at_environment),
    }
    if result.warming_s is not None:
        body["warming"] = answer.band("duration", result.warming_s)
    return body


OPERATIONS = (
    Operation(
        path="/v1/chilling",
        operation_id="createChillPlan",
        tag="chilling",
        summary="How long a drink takes to get cold, and how cold it may get.",
        description="Freezing point, lowest safe temperature, and the time to the goal with its band. One reading of a "
        "thermometer narrows the band. A charged vessel is refused a freezer and salted ice.",
        request=ChillPlanRequest(),
        answer=ChillPlanAnswer,
        view=create_chill_plan,
    ),
)

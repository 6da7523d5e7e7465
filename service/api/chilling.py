"""POST /v1/chilling."""

from collections.abc import Mapping
from typing import Any, cast

from marshmallow import fields, post_load

from service import chilling as core
from service.api.answers import Answer, tidy
from service.api.endpoint import Body, Closed, Open, Operation, Request
from service.api.quantities import Choice, Flag, QuantityField, band, number, q, text
from service.api.shapes import DrinkSchema, Envelope, VesselSchema, fill_field
from service.drink import drink_of
from service.notes import Notes
from service.science.mixture import ENVIRONMENTS


class ChillReading(Closed):
    """One reading of a thermometer in the drink."""

    after = QuantityField("duration", low=1.0, above=None, high=7 * 86400.0, required=True, attribute="after_s",
                          metadata={"description": "Time in the cold when it was read."})  # fmt: skip
    temperature = QuantityField("temperature", low=-25.0, high=45.0, required=True, attribute="temperature_c")

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> core.Measured:
        return core.Measured(**data)


class ChillPlanRequest(Request):
    """What is chilled, from where to where: from 20 °C in ice-water to 1 °C, or as near as is safe, unless stated."""

    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(
        VesselSchema, metadata={"description": "Any material unless it is charged; default pet-1-l."}
    )
    fill = fill_field(metadata={"description": "Liquid as a share of brimful; 0.80 unless stated."})
    charged = Flag(load_default=False, metadata={"description": "The vessel is already under pressure."})
    start_temperature = QuantityField("temperature", low=-15.0, high=45.0)
    goal_temperature = QuantityField("temperature", low=-25.0, high=30.0)
    environment = Choice(*ENVIRONMENTS)
    environment_temperature = QuantityField("temperature", low=-40.0, high=25.0)
    measured = fields.Nested(ChillReading)


class ChillPlanBody(Open):
    """How long it takes and how cold it may get."""

    environment = text(40)
    environment_temperature = q("temperature")
    goal_temperature = q("temperature")
    freezing_point = band("temperature")
    lowest_safe = q("temperature")
    time = band("duration")
    first_check = q("duration", metadata={"description": "Look at the thermometer then: the early end of the time."})
    ice_percent_at_environment = number(metadata={"description": "Share of the water that is ice if left."})
    warming = band("duration", required=False, metadata={"description": "From the goal to 5 °C in still air of 30 °C."})


class ChillPlanAnswer(Envelope, ChillPlanBody):
    """A chill, with what it rests on."""


def create_chill_plan(given: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/chilling."""
    result = core.chill(
        drink_of(given["drink"], notes),
        vessel=given.get("vessel"),
        fill=given.get("fill"),
        charged=given["charged"],
        start_c=given.get("start_temperature"),
        goal_c=given.get("goal_temperature"),
        environment=cast("core.EnvironmentKey | None", given.get("environment")),
        environment_c=given.get("environment_temperature"),
        measured=given.get("measured"),
        notes=notes,
    )
    return write(result, answer)


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

"""POST /v1/chilling."""

from marshmallow import fields

from service import chilling as core
from service.api.answers import Answer, tidy
from service.api.endpoint import Body, OldOperation, Open, Part, Request
from service.api.quantities import Choice, Flag, Number, QuantityField, Whole, band, number, q, says, text
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
    """A drink to chill, from where to where: one vessel, from 20 °C in ice-water to 1 °C, or as near as is safe, unless
    stated."""

    drink = fields.Nested(DrinkSchema, required=True)
    vessel = fields.Nested(VesselSchema, metadata=says("Any material unless it is charged; default pet-1-l."))
    fill = fill_field(metadata=says("Liquid as a share of brimful; 0.80 unless stated."))
    charged = Flag(load_default=False, metadata=says("The vessel is already under pressure."))
    start_temperature = QuantityField("temperature", low=-15.0, high=45.0, attribute="start_c")
    goal_temperature = QuantityField("temperature", low=-25.0, high=30.0, attribute="goal_c")
    environment = Choice(*ENVIRONMENTS)
    environment_temperature = QuantityField("temperature", low=-40.0, high=25.0, attribute="environment_c")
    measured = fields.Nested(ChillReading)
    vessel_count = Whole(low=1, high=1000, metadata=says("Vessels that are chilled together; 1 unless stated."))
    ice = QuantityField("mass", low=10.0, above=None, high=5e6, attribute="ice_g", metadata=says(
        "That there is for an ice bath; too little to reach the goal is refused."))  # fmt: skip
    cooling_power_w = Number(above=0.0, high=100_000.0, metadata=says(
        "Heat that the fridge, freezer or cold room takes out, in watts, which is not what it draws; estimated by its "
        "kind unless stated."))  # fmt: skip
    chill_in = Choice("vessel", "jug", metadata=says(
        "vessel: filled first, then chilled. jug: where the vessel does not fit the cold place; taken to be no larger "
        "than the vessel."))  # fmt: skip


class ChillPlanBody(Open):
    """How long it takes and how cold it may get."""

    environment = text(40)
    environment_temperature = q("temperature")
    goal_temperature = q("temperature")
    freezing_point = band("temperature")
    lowest_safe = q("temperature")
    time = band("duration", metadata=says("Of one vessel, or of all by the power of the place, whichever is longer."))
    first_check = q("duration", metadata=says("Look at the thermometer then: the early end of the time."))
    ice_percent_at_environment = number(metadata=says("Share of the water that is ice if left."))
    heat_kj = band("number", metadata=says("That leaves all the drink and its vessels, in kilojoules."))
    power_needed_w = band("number", metadata=says(
        "Mean power, in watts, that chills all the vessels as fast as one alone."))  # fmt: skip
    ice_needed = band("mass", required=False, metadata=says(
        "What melts, the share of the room included; of a bath of ice."))  # fmt: skip
    ice_to_fetch = q("mass", required=False, metadata=says(
        "At least twice what may melt: as much again is left at the end."))  # fmt: skip
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
    load = result.load
    body |= {
        "heat_kj": answer.band("number", load.heat_kj),
        "power_needed_w": answer.band("number", load.power_needed_w),
    }
    if load.ice_needed_g is not None and load.ice_to_fetch_g is not None:
        body["ice_needed"] = answer.band("mass", load.ice_needed_g)
        body["ice_to_fetch"] = answer.q("mass", load.ice_to_fetch_g)
    if result.warming_s is not None:
        body["warming"] = answer.band("duration", result.warming_s)
    return body


OPERATIONS = (
    OldOperation(
        path="/v1/chilling",
        operation_id="createChillPlan",
        tag="chilling",
        summary="How long a drink takes to get cold, how cold it may get, and how much ice that takes.",
        description="Freezing point, lowest safe temperature in that place, and the time to the goal with its band: of "
        "one vessel, or of all of them where the place has not the power for so many. The heat, and the ice that it "
        "melts. One reading of a thermometer narrows the band. A charged vessel is refused a freezer and salted ice.",
        request=ChillPlanRequest(),
        answer=ChillPlanAnswer,
        view=create_chill_plan,
        pressure=True,
    ),
)

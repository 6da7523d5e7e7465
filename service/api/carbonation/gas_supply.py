"""POST /v1/carbonation/gas-supply."""

from collections.abc import Mapping
from typing import Any

from marshmallow import fields

from service import carbonation
from service.api.answers import Answer, tidy
from service.api.carbonation.said import AIR, TARGET, VESSEL
from service.api.endpoint import Body, ExactlyOne, Open, Operation, Part, Request, rule
from service.api.quantities import QuantityField, band, number, q, says, text, whole
from service.api.shapes import (
    SITE,
    AirSchema,
    DrinkSchema,
    Envelope,
    Items,
    SiteSchema,
    VesselSchema,
    check_lines,
    fill_field,
)
from service.carbonation import BatchOfGas, BatchUse, Cylinder, Escape, GasSupply, Weighed
from service.limits.requests import LARGEST_ROOM_ML, MOST_GAS_LINES
from service.notes import Notes


class GasBatchSchema(Part):
    """A batch that the cylinder is to serve."""

    loads_to = BatchOfGas

    drink = fields.Nested(DrinkSchema, required=True)
    volume = QuantityField("volume", required=True, attribute="volume_ml")
    target = QuantityField("co2", above=0.0, high=15.0, attribute="target_g_per_l", metadata=TARGET)
    vessel = fields.Nested(VesselSchema, metadata=VESSEL)
    fill = fill_field()
    temperature = QuantityField(
        "temperature",
        low=-30.0,
        high=60.0,
        attribute="temperature_c",
        metadata=says("Of the drink when it is charged; 1 °C unless stated, or as near to it as the drink stands."),
    )
    air = fields.Nested(AirSchema, metadata=AIR)


class WeighedCylinderSchema(Part):
    """A cylinder on a scale, with its valve, without hose or cap."""

    loads_to = Weighed

    gross = QuantityField("mass", required=True, attribute="gross_g", metadata=says("As it is now."))
    tare = QuantityField("mass", required=True, attribute="tare_g", metadata=says("Empty, as stamped on it."))


class CylinderSchema(ExactlyOne):
    """The CO2 in the cylinder: stated, or weighed."""

    loads_to = Cylinder

    content = QuantityField("mass", attribute="content_g", metadata=says("Of a full one, what it is sold as."))
    weighed = fields.Nested(WeighedCylinderSchema)


class GasSupplyRequest(Request):
    """Batches, and the cylinder that is to charge them."""

    batches = Items(
        GasBatchSchema,
        most=50,
        required=True,
        metadata=says(f"The components of all come to at most {MOST_GAS_LINES} together."),
    )
    cylinder = fields.Nested(CylinderSchema, required=True)
    room_volume = QuantityField(
        "volume",
        low=1000.0,
        above=None,
        high=LARGEST_ROOM_ML,
        attribute="room_l",
        metadata=says("Of the room that the cylinder stands in; 1 m³ is 1000 l."),
    )
    temperature = QuantityField(
        "temperature",
        low=-40.0,
        high=60.0,
        attribute="temperature_c",
        metadata=says("Where the cylinder stands; 20 °C unless stated."),
    )
    site = fields.Nested(SiteSchema, metadata=SITE)

    @rule
    def not_too_many_lines(self, sent: Mapping[str, Any]) -> None:
        check_lines(sent.get("batches"), lines=("components",), most_lines=MOST_GAS_LINES, name="batches")


class BatchGasSchema(Open):
    """What one batch takes, in the order of the request."""

    vessels = whole(metadata=says("Filled evenly."))
    gauge_pressure = q("pressure", metadata=says("The set-point of its target."))
    co2 = band("mass")


class CylinderSwapSchema(Open):
    """When to swap: with less than this it may not last for all the batches once more."""

    content = q("mass")
    gross = q("mass", required=False, metadata=says("On the scale; of a weighed cylinder only."))


class ExposureLimitSchema(Open):
    """A limit that the average passes."""

    body = text(40)
    limit = text(40)
    ppm = number()
    averaging = text(40)
    basis = text(40)
    source = text(200)


class EscapeSchema(Open):
    """All of the content in the closed room, spread evenly. CO2 pools low: near the floor it is far more."""

    ppm = number(metadata=says("By volume, beside what the air held before; at most all of the air."))
    over = fields.List(fields.Nested(ExposureLimitSchema), required=True, metadata=says("From the lowest limit up."))


class GasSupplyBody(Open):
    co2_per_batch = band("mass", metadata=says("Of all the batches listed, each made once."))
    batches = fields.List(fields.Nested(BatchGasSchema), required=True)
    content = q("mass", metadata=says("In the cylinder."))
    batches_per_cylinder = band("number", metadata=says("How often all the batches listed can be made."))
    swap = fields.Nested(CylinderSwapSchema, required=True)
    cylinder_gauge_pressure = q(
        "pressure",
        required=False,
        metadata=says("While any of it is liquid, however little; absent where it is too warm for liquid."),
    )
    room = fields.Nested(EscapeSchema, metadata=says("Absent without a room volume."))


class GasSupplyAnswer(Envelope, GasSupplyBody):
    """What the batches take, and what stands in the cylinder."""


def create_gas_supply(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/carbonation/gas-supply."""
    if "room_l" in asked:
        asked["room_l"] /= 1000.0
    return write_gas_supply(carbonation.gas_supply(notes=notes, **asked), answer)


def write_gas_supply(found: GasSupply, answer: Answer) -> Body:
    """The gas in the caller's units."""
    swap = {"content": answer.q("mass", found.swap_content_g)}
    if found.swap_gross_g is not None:
        swap["gross"] = answer.q("mass", found.swap_gross_g)
    body: Body = {
        "co2_per_batch": answer.band("mass", found.co2_per_batch_g),
        "batches": [_batch(one, answer) for one in found.batches],
        "content": answer.q("mass", found.content_g),
        "batches_per_cylinder": answer.band("number", found.batches_per_cylinder),
        "swap": swap,
    }
    if found.cylinder_bar_gauge is not None:
        body["cylinder_gauge_pressure"] = answer.q("pressure", found.cylinder_bar_gauge)
    if found.escape is not None:
        body["room"] = _room(found.escape)
    return body


def _batch(one: BatchUse, answer: Answer) -> Body:
    return {
        "vessels": one.vessels,
        "gauge_pressure": answer.q("pressure", one.dial_bar_gauge),
        "co2": answer.band("mass", one.co2_g),
    }


def _room(escape: Escape) -> Body:
    return {
        "ppm": tidy(escape.ppm),
        "over": [
            {
                "body": limit.body,
                "limit": limit.limit,
                "ppm": limit.ppm,
                "averaging": limit.averaging,
                "basis": limit.basis,
                "source": limit.source,
            }
            for limit in escape.over
        ],
    }


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
    request=GasSupplyRequest(),
    answer=GasSupplyAnswer,
    pressure=True,
    view=create_gas_supply,
)

"""What a rollout is answered with."""

from marshmallow import fields

from service.api.batching import (
    AllergenSourceSchema,
    BatchComponentSchema,
    CostSchema,
    FillSchema,
    WeighingSchema,
)
from service.api.carbonation.charges import WarmRoomSchema, WorstSchema
from service.api.chilling import ChillPlanBody
from service.api.endpoint import Open
from service.api.moments import moment
from service.api.quantities import Answered, band, money, number, q, says, text, texts, whole
from service.api.regas.forecasts import RegasAfter
from service.api.shapes import Envelope, SentenceParameterSchema, TitratableAcidityAnswerSchema
from service.api.shapes.envelope import AssumptionSchema, CautionSchema


class RolloutChargesSchema(Open):
    """How a vessel is charged at this venue, and the worst it could come to there."""

    count = whole()
    co2 = band("co2", metadata=says("In the vessel once it is charged; of a keg on the gas, at rest."))
    charges_to_target = band("number", required=False, metadata=says("Absent where a bound is over 20."))
    never_over = q("pressure", metadata=says("The highest dial that passes, in reach of regulator and relief valve."))
    worst = fields.Nested(WorstSchema, required=True)
    warm_room = fields.Nested(WarmRoomSchema, metadata=says("Absent beyond the gas equations."))
    co2_used = band("mass", metadata=says("From the cylinder, for each vessel, purging apart."))


class RolloutVesselSchema(Open):
    """One kind of vessel at a venue."""

    fill = fields.Nested(FillSchema, required=True)
    gauge_pressure = band("pressure", metadata=says("The set-point: the dial that holds the target here."))
    charges = fields.Nested(RolloutChargesSchema, required=True)
    chilling = fields.Nested(ChillPlanBody, required=True)
    glass = band("co2", required=False, metadata=says("In the first glass; absent where the drink stays flat."))
    regas_after = fields.Nested(RegasAfter, metadata=says("Absent where none is due."))
    regas_at = moment(required=False)


class RolloutBatchSchema(Open):
    """The batch of a venue; abv and titratable_acidity as its scale makes them, or its jug where it states no scale."""

    serves = whole()
    volume = q("volume")
    mass = q("mass")
    abv = number(required=False, metadata=says("Absent where nothing is left of a component."))
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema)
    components = fields.List(fields.Nested(BatchComponentSchema), required=True)
    weighing = fields.List(fields.Nested(WeighingSchema), required=True)


class FigureSchema(Open):
    """A number, with its unit where it has one."""

    value = number()
    unit = text(20, required=False)


class RolloutDiffersSchema(Open):
    """One thing that is not as in the standard. pointer: what brings it about."""

    pointer = text(500)
    standard = fields.Nested(FigureSchema)
    here = fields.Nested(FigureSchema)
    code = text(100)
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)


class RolloutSentenceSchema(Open):
    """A line to read out at the venue, its numbers and dates in the manner of the place."""

    code = text(100)
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)


class RolloutSiteAnswerSchema(Open):
    """One venue, in its own units: how it makes the drink, or the problem with pointers into the whole request.

    Pressure, charges, chilling, glass and re-gas are those of its first kind of vessel; cautions and assumptions are
    those that do not hold of every venue.
    """

    id = text(64)
    name = text(200, required=False)
    status = Answered({"type": "string", "enum": ["ok", "refused"]})
    gauge_pressure = band(
        "pressure", required=False, metadata=says("The set-point: the dial that holds the target here.")
    )
    charges = fields.Nested(RolloutChargesSchema)
    chilling = fields.Nested(ChillPlanBody)
    batch = fields.Nested(RolloutBatchSchema)
    fills = fields.List(fields.Nested(FillSchema))
    glass = band("co2", required=False, metadata=says("In the first glass; absent where the drink stays flat."))
    regas_after = fields.Nested(RegasAfter, metadata=says("Absent where none is due."))
    regas_at = moment(
        required=False, metadata=says("The first re-gas that is usually due, where the shift states its start.")
    )
    other_vessels = fields.List(fields.Nested(RolloutVesselSchema), metadata=says("Its further kinds of vessels."))
    use_by = moment(required=False)
    cost = fields.Nested(CostSchema)
    outlay = money(required=False)
    differs = fields.List(fields.Nested(RolloutDiffersSchema))
    says = fields.List(fields.Nested(RolloutSentenceSchema))
    cautions = fields.List(fields.Nested(CautionSchema))
    assumptions = fields.List(fields.Nested(AssumptionSchema))
    problem = Answered({"$ref": "#/components/schemas/Problem"}, required=False)


class PlaceSchema(FigureSchema):
    """A figure, and the venue that has it."""

    site = text(64)


class SpreadSchema(Open):
    """Of the typical figures of all venues that are not refused."""

    lowest = fields.Nested(PlaceSchema, required=True)
    median = fields.Nested(FigureSchema, required=True)
    highest = fields.Nested(PlaceSchema, required=True)


class RolloutSummarySchema(Open):
    """How far apart what the guest gets is; what no venue has is left out."""

    co2 = fields.Nested(SpreadSchema, metadata=says("In the vessel once it is charged: the same everywhere."))
    glass = fields.Nested(SpreadSchema, metadata=says("In the first glass, which the altitude changes."))
    abv = fields.Nested(SpreadSchema)
    titratable_acidity = fields.Nested(SpreadSchema)


class RolloutStandardSchema(Open):
    """What venues are held against: exactly to the spec, at sea level, in the vessel that its size names first.

    Absent are the pressures of a standard that is refused there itself.
    """

    target = q("co2")
    abv = number()
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    gauge_pressure = band("pressure", required=False)
    charges = fields.Nested(RolloutChargesSchema)
    glass = band("co2", required=False)
    regas_after = fields.Nested(RegasAfter)


class RolloutAnswer(Envelope):
    """Every venue in the order of the request; cautions and assumptions are those that hold of all."""

    sites = fields.List(fields.Nested(RolloutSiteAnswerSchema), required=True)
    refused = whole(metadata=says("How many of the sites are."))
    summary = fields.Nested(RolloutSummarySchema, required=True)
    standard = fields.Nested(RolloutStandardSchema, required=True)
    spec_id = text(100)
    allergens = texts(40, most=14)
    allergens_us = texts(40, most=9)
    allergen_sources = fields.List(fields.Nested(AllergenSourceSchema), required=True)

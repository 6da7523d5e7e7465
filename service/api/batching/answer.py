"""What is said of a batch."""

from marshmallow import fields

from service.api.endpoint import Open
from service.api.moments import moment
from service.api.quantities import Answered, band, flag, money, number, q, says, text, texts, whole
from service.api.shapes import Envelope, SentenceParameterSchema, TitratableAcidityAnswerSchema


class InnerComponentAnswerSchema(Open):
    """What is mixed for a component that is made from a spec, all that stays behind included."""

    name = text(200)
    volume = q("volume")
    mass = q("mass")
    start_from = q("mass", required=False)


class BatchComponentSchema(Open):
    """One component of the batch; packages and what is left over where it has a price.

    start_from: where it has a yield; made_of: where it is made from a spec
    """

    name = text(200)
    volume = q("volume")
    mass = q("mass")
    measure = q("amount", required=False)
    drift_percent = number(required=False)
    packages = whole(required=False)
    left_over = q("amount", required=False)
    start_from = q("mass", required=False)
    made_of = fields.List(fields.Nested(InnerComponentAnswerSchema))


class BatchTotalsSchema(Open):
    """The whole batch at 20 °C. sugar_to_acid: grams of sugar to one of titratable acid as citric."""

    volume = q("volume")
    sum_of_volumes = q("volume")
    mass = q("mass")
    density_g_per_ml = number()
    abv = number()
    sugar = q("sugar")
    brix = number()
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    sugar_to_acid = number(required=False)
    salt = q("salt")
    freezing_point = band("temperature", required=False)
    lowest_safe = q("temperature", required=False)


class StandardDrinkSchema(Open):
    """How many of a country's standard drinks one serve is. basis: unverified where none was read in print."""

    country = text(100)
    name = text(100)
    count = number()
    basis = text(40)


class PerServeSchema(Open):
    """One serve."""

    volume = q("volume")
    alcohol = q("mass")
    standard_drinks = fields.List(fields.Nested(StandardDrinkSchema), required=True)
    energy_kcal = number()
    energy_kj = number()


class InGlassSchema(Open):
    """One serve with the water in it that the stated melt gives; sugar is what its sweetness goes by."""

    volume = q("volume")
    abv = number()
    sugar = q("sugar")
    melt = q("volume")


class RoundingDriftSchema(Open):
    """The drink as rounded less the drink as written.

    ratio_percent: how far the ratio of two components is off at most; set_point: of the gauge pressure that holds the
    CO2 level of the assumptions
    """

    ratio_percent = number()
    abv = number()
    sugar = q("sugar")
    titratable_acidity = fields.Nested(TitratableAcidityAnswerSchema, required=True)
    set_point = q("pressure", required=False)


class BatchRoundingSchema(Open):
    """What rounding does to the drink, by the practical measures and on the scale.

    factor: the batch over the size asked for; a drift is left out where a component comes to nothing
    """

    factor = number()
    by_measure = fields.Nested(RoundingDriftSchema)
    by_scale = fields.Nested(RoundingDriftSchema)


class OnHandAnswerSchema(Open):
    """A component in the house. runs_out_first: of those that were stated."""

    component = text(200)
    amount = q("amount")
    needed = q("amount")
    status = Answered({"type": "string", "enum": ["enough", "short"]})
    runs_out_first = flag()
    left_over = q("amount", required=False)
    short_by = q("amount", required=False)


class WeighingShareSchema(Open):
    """One reading of the scale, so many times."""

    times = whole()
    measure = q("mass")


class WeighingSchema(Open):
    """One component on the scale, in working order, the jug tared each time.

    alone: into a cup of its own; coarse: too little for the steps of this scale; shares: at once where the scale
    bears it beside its jug, else full jugs of a round mass and a rest
    """

    component = text(200)
    mass = q("mass")
    drift_percent = number()
    alone = flag()
    coarse = flag()
    shares = fields.List(fields.Nested(WeighingShareSchema), required=True)


class FillSchema(Open):
    """So many vessels, each with so much liquid and headspace."""

    vessel = text(100)
    count = whole()
    liquid = q("volume")
    headspace = q("volume")


class ShoppingLineSchema(Open):
    """What the batch uses of one component, as it is started from, and the packages that hold it."""

    component = text(200)
    stock_code = text(64, required=False)
    amount = q("amount")
    content = q("amount", required=False)
    packages = whole(required=False)
    left_over = q("amount", required=False)
    outlay = money(required=False)


class CostSchema(Open):
    """What is used. batch: unrounded to the twelfth decimal; per_serve: two decimals below the smallest coin.

    pour_cost_percent: of the selling price, both as stated, with or without tax
    """

    batch = money()
    per_serve = money()
    pour_cost_percent = number(required=False)


class DepletionSchema(Open):
    """What a stock system takes off, as it is started from: for one glass, and for all that is made, losses included.

    Both are in stock_unit where that is a unit of volume or mass.
    """

    component = text(200)
    stock_code = text(64)
    stock_unit = text(16, required=False)
    per_serve = q("amount")
    per_batch = q("amount")


class AllergenSourceSchema(Open):
    """An allergen as it was declared, and the components that bring it."""

    allergen = text(40)
    components = texts(200)


class BatchLabelSchema(Open):
    """The label of every vessel; made_at and use_by only where the request gave a time.

    abv: absent where nobody stated the strength of a component, then the strength is not stated; abv_unstated: those
    """

    name = text(200)
    statement = text(100)
    abv = number(required=False)
    abv_unstated = texts(200, most=2000)
    allergens = texts(40, most=14)
    allergens_us = texts(40, most=9)
    allergens_unstated = texts(200, most=2000)
    keep_at = q("temperature")
    made_at = moment(required=False)
    use_by = moment(required=False)


class ComparedSchema(Open):
    """One side of a difference: a number with its unit where it has one, or an amount of money, or a text."""

    value = number(required=False)
    unit = text(20, required=False)
    money = money(required=False)
    words = text(required=False)


class DifferenceSchema(Open):
    """One thing that differs from the standard, of a component or of one glass; a side without it is left out."""

    code = text(100)
    component = text(200, required=False)
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    here = fields.Nested(ComparedSchema)
    standard = fields.Nested(ComparedSchema)


WHOLE_SERVES = says("Whole pours, each from one vessel, that the vessels give.")
HEEL = says("Left in each vessel after its whole serves.")


class BatchBody(Open):
    """The batch.

    allergens: groups of Regulation (EU) 1169/2011 Annex II; allergens_us: major food allergens of the United States;
    differences: from the standard, none where the two are one drink
    """

    spec_id = text(100)
    serves = whole()
    components = fields.List(fields.Nested(BatchComponentSchema), required=True)
    totals = fields.Nested(BatchTotalsSchema, required=True)
    per_serve = fields.Nested(PerServeSchema, required=True)
    in_glass = fields.Nested(InGlassSchema)
    weighing = fields.List(fields.Nested(WeighingSchema), required=True)
    rounding = fields.Nested(BatchRoundingSchema, required=True)
    on_hand = fields.List(fields.Nested(OnHandAnswerSchema))
    fills = fields.List(fields.Nested(FillSchema))
    whole_serves = whole(required=False, metadata=WHOLE_SERVES)
    heel = q("volume", required=False, metadata=says(f"{HEEL['description']} Absent with several kinds of vessel."))
    shopping = fields.List(fields.Nested(ShoppingLineSchema), required=True)
    cost = fields.Nested(CostSchema)
    outlay = money(required=False)
    allergens = texts(40, most=14)
    allergens_us = texts(40, most=9)
    allergen_sources = fields.List(fields.Nested(AllergenSourceSchema), required=True)
    use_by = moment(required=False)
    label = fields.Nested(BatchLabelSchema, required=True)
    depletion = fields.List(fields.Nested(DepletionSchema))
    differences = fields.List(fields.Nested(DifferenceSchema))


class BatchAnswer(Envelope, BatchBody):
    """A batch with what it rests on."""

"""What is said on a prep sheet."""

from marshmallow import fields

from service.api import acid, batching, carbonation, chilling, regas
from service.api.endpoint import Open
from service.api.moments import moment
from service.api.quantities import Answered, band, number, q, says, text, whole
from service.api.shapes import Envelope, SentenceParameterSchema


class PrepSolutionSchema(acid.AcidSolutionBody):  # type: ignore[misc]
    """An acid solution, and the component it is made for."""

    component = text(200)


class PrepCarbonationSchema(Open):
    """The set-point, and what the charges come to."""

    set_points = fields.Nested(carbonation.SetPointsBody, required=True)
    charges = fields.Nested(carbonation.ChargesBody, required=True)


class PrepGasSchema(Open):
    """CO2 for the whole batch, every vessel charged once, counted as /v1/carbonation/gas-supply does."""

    co2_used = band("mass", metadata=says("From the cylinder, to rest at the dial, purges and losses included."))


STEP_NUMBER = {"type": "integer", "format": "int32", "minimum": 1, "maximum": 1000}


class StepTimerSchema(Open):
    """each_s: when to look, at the early end where the time is a band; times: so often, once for each vessel."""

    each_s = number()
    times = whole()


class StepCautionSchema(Open):
    """A caution of this step tonight."""

    code = text(60)
    severity = Answered({"type": "string", "enum": ["info", "warning", "danger"]})
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    text = text()


class StepValueSchema(Open):
    """A figure of a step: what it is by its code, as people read it, and as a number with its unit where it is one."""

    code = text(60)
    name = text(300)
    value = number(required=False)
    unit = text(20, required=False)
    params = fields.List(
        fields.Nested(SentenceParameterSchema), metadata=says("What the name holds; absent where it holds nothing.")
    )
    text = text()


class PrepStepSchema(Open):
    """One thing to do. text has no numerals; they stand in values, one a line. timer_s and caution are deprecated."""

    kind = text(40)
    station = Answered({"type": "string", "enum": ["manager", "bench", "bar"]})
    code = text(60)
    timer = fields.Nested(StepTimerSchema)
    timer_s = number(required=False, metadata=says("Deprecated: timer says it, and how often."))
    hands_on_s = number(metadata=says("Work of hands, all vessels together."))
    begins_s = number(required=False, metadata=says("After the start of the work; of the steps up to the first serve."))
    begins_at = moment(required=False, metadata=says("The latest, where the start of the shift is known."))
    values = fields.List(fields.Nested(StepValueSchema), required=True)
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    cautions = fields.List(fields.Nested(StepCautionSchema), required=True)
    depends_on = Answered({"type": "array", "maxItems": 1000, "items": STEP_NUMBER})
    caution = text(required=False, metadata=says("Deprecated: the texts of cautions."))
    text = text()
    number = Answered(STEP_NUMBER)


class PrepRecordSchema(Open):
    """Something to write down, its limit, and what to do when it is passed."""

    code = text(60)
    point = text(200)
    limit = text(100)
    value = number(required=False)
    unit = text(20, required=False)
    action = text()


class PrepLabelLineSchema(Open):
    """A line of the label: what it is by its code, and as people read it."""

    code = text(60)
    name = text(300)
    value = number(required=False)
    unit = text(20, required=False)
    text = text()


class PrepLabelSchema(Open):
    """What goes on every vessel."""

    name = text(200)
    lines = fields.List(fields.Nested(PrepLabelLineSchema), required=True)
    statement = text(200)


class PrepSheetBody(Open):
    """The whole job in the order of work."""

    spec_id = text(100)
    batch = fields.Nested(batching.BatchBody, required=True)
    fill = fields.Nested(batching.FillSchema, required=True)
    whole_serves = whole(metadata=batching.WHOLE_SERVES)
    heel = q("volume", metadata=batching.HEEL)
    acid_solutions = fields.List(fields.Nested(PrepSolutionSchema), required=True)
    chilling = fields.Nested(chilling.ChillPlanBody, required=True)
    carbonation = fields.Nested(PrepCarbonationSchema, required=True)
    regas = fields.Nested(regas.RegasForecastBody)
    gas = fields.Nested(PrepGasSchema, required=True)
    total_s = number(
        required=False,
        metadata=says(
            "From the start of the work to the first serve, every wait at its late end, one pair of hands a station; "
            "absent where the drink never gets there."
        ),
    )
    hands_on_s = number(metadata=says("Of that, the work of hands."))
    latest_start = moment(
        required=False, metadata=says("So that the first serve makes the shift, where its start is known.")
    )
    steps = fields.List(fields.Nested(PrepStepSchema), required=True)
    records = fields.List(fields.Nested(PrepRecordSchema), required=True)
    label = fields.Nested(PrepLabelSchema, required=True)


class PrepSheetAnswer(Envelope, PrepSheetBody):
    """A prep sheet, with what it rests on."""

"""Prep sheets on the wire: JSON, and the bench ticket as text."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.api import acid, batching, carbonation, chilling, regas
from service.api.answers import Answer
from service.api.endpoint import Body, Open, Operation, Part, Request, rule
from service.api.moments import Moment
from service.api.pages.ticket import DEFAULT_COLUMNS, ticket
from service.api.quantities import (
    Answered,
    Choice,
    Coded,
    Flag,
    QuantityField,
    Text,
    Whole,
    band,
    number,
    text,
)
from service.api.shapes import (
    AirSchema,
    Envelope,
    Items,
    SentenceParameterSchema,
    ShiftSchema,
    SiteSchema,
    SpecSchema,
    VesselSchema,
    fill_field,
)
from service.notes import Notes
from service.prep_sheet import (
    Asked,
    CarbonationPlan,
    ChillPlan,
    PrepSheet,
    Record,
    Step,
    label_of,
    prepare,
    records_of,
    steps_of,
)
from service.science.mixture import ENVIRONMENTS


class CarbonationPlanSchema(Part):
    """How the drink is charged; the defaults are those of /v1/carbonation/charges."""

    target = QuantityField("co2", low=0.1, high=15.0, attribute="target_g_per_l")
    temperature = QuantityField("temperature", low=-25.0, high=45.0, attribute="temperature_c")
    air = fields.Nested(AirSchema)
    gauge_pressure = QuantityField("pressure", low=0.0, high=10.0, attribute="dial_bar_gauge")
    charge_count = Whole(low=1, high=20)
    shake = QuantityField("duration", high=3600.0, attribute="shake_s")
    rest = QuantityField("duration", high=7 * 86400.0, attribute="rest_s")
    agitation = Choice("shaken", "rocked", "still")
    connected = Flag(metadata={"description": "A keg stays on the gas unless this is false; a bottle never does."})
    loads_to = CarbonationPlan


class PrepChillSchema(Part):
    """How the batch is chilled; the defaults are those of /v1/chilling."""

    environment = Choice(*ENVIRONMENTS)
    start_temperature = QuantityField("temperature", low=-15.0, high=45.0, attribute="start_c")
    loads_to = ChillPlan


class PrepSheetRequest(Request):
    """One spec, how much of it, in which vessels, where, and when it is served."""

    spec = fields.Nested(SpecSchema, required=True)
    size = fields.Nested(batching.BatchSizeSchema, required=True)
    vessel = fields.Nested(VesselSchema)
    fill = fill_field()
    site = fields.Nested(SiteSchema)
    carbonation = fields.Nested(CarbonationPlanSchema)
    chill = fields.Nested(PrepChillSchema)
    shift = fields.Nested(ShiftSchema)
    rounding = fields.Nested(batching.RoundingSchema)
    prices = Items(batching.PriceSchema, most=41)
    made_at = Moment()
    house_maximum = QuantityField("duration", high=10 * 365 * 86400.0, attribute="house_maximum_s")
    lot = Text(longest=64)

    @rule
    def one_vessel(self, sent: Mapping[str, Any]) -> None:
        size = sent.get("size")
        if not isinstance(size, Mapping) or "vessels" not in size:
            return
        wrong = {
            name: [Coded("described-twice", "size names the vessels already; leave this out.")]
            for name in ("vessel", "fill")
            if name in sent
        }
        if wrong:
            raise ValidationError(wrong)


class PrepSolutionSchema(acid.AcidSolutionBody):
    """An acid solution, and the component it is made for."""

    component = text(200)


class PrepCarbonationSchema(Open):
    """The set-point, and what the charges come to."""

    set_points = fields.Nested(carbonation.SetPointsBody, required=True)
    charges = fields.Nested(carbonation.ChargesBody, required=True)


class PrepGasSchema(Open):
    """CO2 for the whole batch, every vessel charged once."""

    co2_used = band("mass")


STEP_NUMBER = {"type": "integer", "format": "int32", "minimum": 1, "maximum": 1000}


class PrepStepSchema(Open):
    """One thing to do. text has no numbers; they stand in values, one a line."""

    kind = text(40)
    station = Answered({"type": "string", "enum": ["manager", "bench", "bar"]})
    code = text(60)
    timer_s = number(required=False)
    hands_on_s = number()
    values = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    depends_on = Answered({"type": "array", "maxItems": 1000, "items": STEP_NUMBER})
    caution = text(required=False)
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


class PrepLabelSchema(Open):
    """What goes on every vessel."""

    name = text(200)
    lines = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    statement = text(200)


class PrepSheetBody(Open):
    """The whole job in the order of work."""

    spec_id = text(100)
    batch = fields.Nested(batching.BatchBody, required=True)
    fill = fields.Nested(batching.FillSchema, required=True)
    acid_solutions = fields.List(fields.Nested(PrepSolutionSchema), required=True)
    chilling = fields.Nested(chilling.ChillPlanBody, required=True)
    carbonation = fields.Nested(PrepCarbonationSchema, required=True)
    regas = fields.Nested(regas.RegasForecastBody)
    gas = fields.Nested(PrepGasSchema, required=True)
    steps = fields.List(fields.Nested(PrepStepSchema), required=True)
    records = fields.List(fields.Nested(PrepRecordSchema), required=True)
    label = fields.Nested(PrepLabelSchema, required=True)


class PrepSheetAnswer(Envelope, PrepSheetBody):
    """A prep sheet, with what it rests on."""


def create_prep_sheet(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/prep-sheets."""
    rounding = batching.steps(asked.pop("rounding", None), answer)
    return write(prepare(Asked(rounding=rounding, **asked), notes), answer)


def write(sheet: PrepSheet, answer: Answer) -> Body:
    """The sheet in the caller's units."""
    label = label_of(sheet)
    forecast = {"regas": regas.write(sheet.forecast, answer)} if sheet.forecast is not None else {}
    return {
        "spec_id": sheet.batch.spec_id,
        "batch": batching.write(sheet.batch, answer),
        "fill": batching.write_fill(sheet.fill, answer),
        "acid_solutions": [
            {"component": named.component, **acid.write(named.solution, answer)} for named in sheet.solutions
        ],
        "chilling": chilling.write(sheet.chilling, answer),
        "carbonation": {
            "set_points": carbonation.write_set_points(sheet.set_points, answer),
            "charges": carbonation.write_charges(sheet.charging, answer),
        },
        **forecast,
        "gas": {"co2_used": answer.band("mass", sheet.gas_g)},
        "steps": [_step(step, answer) for step in steps_of(sheet)],
        "records": [_record(record, answer) for record in records_of(sheet)],
        "label": {"name": label.name, "lines": answer.params(label.lines), "statement": label.statement},
    }


def _step(step: Step, answer: Answer) -> Body:
    found: Body = {
        "number": step.number,
        "kind": step.kind,
        "station": step.station,
        "code": step.code,
        "text": step.text,
        "hands_on_s": step.hands_on_s,
        "values": answer.params(step.values),
        "depends_on": list(step.depends_on),
    }
    if step.timer_s is not None:
        found["timer_s"] = step.timer_s
    return found if step.caution is None else {**found, "caution": step.caution}


def _record(record: Record, answer: Answer) -> Body:
    (limit,) = answer.params([("limit", record.limit)])
    measure: Body = {key: limit[key] for key in ("value", "unit") if key in limit}
    return {"code": record.code, "point": record.point, "limit": limit["text"], **measure, "action": record.action}


OPERATIONS = (
    Operation(
        path="/v1/prep-sheets",
        operation_id="createPrepSheet",
        tag="prep",
        summary="The whole job for one spec, in the order of work.",
        description="Batch, acid solutions, chill, fill, charge, hold, pour and re-gas for one spec and one kind of "
        "vessel, with the steps and timers of the bench, the records to keep and the label. As text it is the bench "
        "ticket.",
        request=PrepSheetRequest(),
        answer=PrepSheetAnswer,
        view=create_prep_sheet,
        forms={"text": ticket},
        query={
            "columns": {
                "type": "integer",
                "format": "int32",
                "minimum": 32,
                "maximum": 80,
                "description": f"Width of the ticket in characters, {DEFAULT_COLUMNS} unless stated; with text only.",
            }
        },
    ),
)

"""POST /v1/prep-sheets: JSON, pages to print, the bench ticket as text, a table."""

from marshmallow import fields

from service.api.answers import Answer
from service.api.endpoint import Body, Operation
from service.api.pages import sheet, table
from service.api.pages.ticket import QUERY, ticket
from service.api.quantities import description, number, text
from service.api.wire import Open, SentenceParameterSchema, written_by
from service.prep_sheet import LabelLine, PrepSheet, PrepSheetRequest, Record, StepValue, prep_sheet


class StepValueSchema(Open):
    """A figure of a step: what it is by its code, as people read it, and as a number with its unit where it is one."""

    code = text(60)
    name = text(300)
    value = number(required=False)
    unit = text(20, required=False)
    params = fields.List(
        fields.Nested(SentenceParameterSchema),
        metadata=description("What the name holds; absent where it holds nothing."),
    )
    text = text()


def write_step_value(value: StepValue, answer: Answer) -> Body:
    """Write a figure of a step under its name."""
    name = answer.sentence(value.name, value.params)
    (told,) = answer.params([(name, value.value)])
    params = answer.params(value.params.items())
    return {"code": value.code, **told, **({"params": params} if params else {})}


AT_MOST = "at most {limit}"
"""A limit that is the most a figure may be."""


class PrepRecordSchema(Open):
    """Something to write down, its limit, and what to do when it is passed."""

    code = text(60)
    point = text(200)
    limit = text(100)
    value = number(required=False)
    unit = text(20, required=False)
    action = text()


def write_record(record: Record, answer: Answer) -> Body:
    """Write a record with its limit as people read it, and as a number where it is one."""
    (limit,) = answer.params([("limit", record.limit)])
    shown = answer.sentence(AT_MOST, {"limit": record.limit}) if record.most else limit["text"]
    measure: Body = {key: limit[key] for key in ("value", "unit") if key in limit}
    return {
        "code": record.code,
        "point": answer.speech.say(record.point),
        "limit": shown,
        **measure,
        "action": answer.show(record.action),
    }


class PrepLabelLineSchema(Open):
    """A line of the label: what it is by its code, and as people read it."""

    code = text(60)
    name = text(300)
    value = number(required=False)
    unit = text(20, required=False)
    text = text()


def write_label_line(line: LabelLine, answer: Answer) -> Body:
    """Write a line of the label."""
    (told,) = answer.params([(answer.speech.say(line.name), line.value)])
    return {"code": line.code, **told}


written_by(StepValue, StepValueSchema, write_step_value)
written_by(Record, PrepRecordSchema, write_record)
written_by(LabelLine, PrepLabelLineSchema, write_label_line)


PREP_SHEETS = Operation(
    path="/v1/prep-sheets",
    operation_id="createPrepSheet",
    tag="prep",
    summary="The whole job for one spec, in the order of work.",
    description="Batch, acid solutions, chill, fill, charge, hold, pour and re-gas for one spec and one kind of "
    "vessel, with the steps and timers of the bench, the records to keep and the label. As HTML it is the pages to "
    "print, as text the bench ticket, as CSV a table with a row for each figure.",
    request=PrepSheetRequest,
    answer=PrepSheet,
    pressure=True,
    view=prep_sheet,
    forms={"html": sheet.pages, "text": ticket, "csv": lambda served: table.table(served.body, served.query)},
    headers={"html": sheet.HEADERS, "csv": table.HEADERS},
    query=QUERY,
)
OPERATIONS = (PREP_SHEETS,)

"""What every answer begins with, and what several hold."""

from marshmallow import fields

from service.api.quantities import Answered, number, q, text, texts
from service.api.wire.answered import Open, written_by
from service.notes import Assumption, Caution


class SentenceParameterSchema(Open):
    """A value inside a sentence: as text, and as a number with its unit where it is one."""

    name = text(300)
    value = number(required=False)
    unit = text(20, required=False)
    text = text()


class CautionSchema(Open):
    """Something the bar must know."""

    code = text(100)
    severity = Answered({"type": "string", "enum": ["info", "warning", "danger"]})
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    pointers = texts(500)


class AssumedQuantitySchema(Open):
    """An assumed number, with its unit where it has one."""

    value = number()
    unit = text(20, required=False)


class AssumptionSchema(Open):
    """A value the request did not give, or a statement the answer rests on. pointers: where to override it."""

    name = text(200)
    value = text()
    quantity = fields.Nested(AssumedQuantitySchema)
    code = text(200)
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    basis = Answered(
        {"type": "string", "enum": ["published", "library", "common-practice", "estimate", "unverified", "default"]}
    )
    source = text(required=False)
    pointers = texts(500)
    text = text()


class SafetySchema(Open):
    """The rules for all work under pressure; href: the rules of the night, one by one."""

    href = text(200)
    text = text()


class Envelope(Open):
    """The envelope that every answer begins with. safety: of answers about pressure, never omitted."""

    model = text(40)
    cautions = fields.List(fields.Nested(CautionSchema), required=True)
    assumptions = fields.List(fields.Nested(AssumptionSchema), required=True)
    safety = fields.Nested(SafetySchema)
    labels = Answered(
        {"type": "object", "maxProperties": 16, "additionalProperties": {"type": "string", "maxLength": 200}},
        required=False,
    )


class TitratableAcidityAnswerSchema(Open):
    """Titratable acidity to pH 8.2, expressed three ways."""

    as_citric = q("acidity")
    as_tartaric = q("acidity")
    meq_per_l = number()


written_by(Caution, CautionSchema, lambda caution, answer: answer._caution(caution))
written_by(Assumption, AssumptionSchema, lambda assumption, answer: answer._assumption(assumption))

"""Schemas of the parts of answers that are no object of the core, but a form of a value."""

from marshmallow import EXCLUDE, Schema

from service.api.quantities import number, q, text


class Open(Schema):
    """Base of every object of an answer; clients tolerate fields that they do not know."""

    class Meta:
        unknown = EXCLUDE


class SentenceParameterSchema(Open):
    """A value inside a sentence: as text, and as a number with its unit where it is one."""

    name = text(300)
    value = number(required=False)
    unit = text(20, required=False)
    text = text()


class FigureSchema(Open):
    """A number, with its unit where it has one."""

    value = number()
    unit = text(20, required=False)


class AssumedQuantitySchema(FigureSchema):
    """An assumed number, with its unit where it has one."""


class TitratableAcidityAnswerSchema(Open):
    """Titratable acidity to pH 8.2, expressed three ways."""

    as_citric = q("acidity")
    as_tartaric = q("acidity")
    meq_per_l = number()


class Modelled(Open):
    """The head of a reference."""

    model = text(40)

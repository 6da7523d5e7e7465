"""Answers: declared objects of the core written as JSON, and their OpenAPI schemas."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from functools import cache
from math import ceil, floor
from typing import Any, Literal, get_args, get_origin

from marshmallow import Schema, fields

from service.api import problems
from service.api.answers import Answer, filled, tidy, titratable_acidity
from service.api.moments import moment
from service.api.quantities import Answered, band, flag, money, number, q, whole
from service.api.quantities import text as text_of
from service.api.wire.asked import request_schema
from service.api.wire.by_hand import (
    AssumedQuantitySchema,
    FigureSchema,
    Modelled,
    Open,
    SentenceParameterSchema,
    TitratableAcidityAnswerSchema,
)
from service.declared import (
    AS_STATED,
    EXACT,
    FIGURE,
    INLINE,
    JOINED,
    PARAMS,
    PROBLEM,
    SENTENCE,
    TENTHS,
    TERM,
    THREE_WAYS,
    WORDED,
    Marker,
    Member,
    is_shape,
    members,
    shape_of,
)
from service.errors import Measure, Refused, SeveralRefused
from service.money import Money
from service.notes import Counted, Envelope, Value
from service.science.band import Band
from service.science.units import Quantity

Body = dict[str, Any]
Writer = Callable[[Any, Answer], Any]
"""Writes a value."""


def write(found: Any, answer: Answer) -> Body:
    """Write a declared object in the caller's units; what is None is left out."""
    body: Body = {}
    shape: Any = type(found)
    params: list[Body] | None = None
    for wire, name, manner, writer in _parts(shape):  # runs often: no call for a value that is written as it is
        value = getattr(found, name)
        if value is None:
            continue
        if manner is None:
            body[wire] = value if writer is _as_it_is else writer(value, answer)
        elif manner is Manner.INLINE:
            body |= writer(value, answer)
        else:
            if params is None:
                params = answer.params(found.params.items())
            body[wire] = params if manner is Manner.PARAMS else _said(found, value, params, answer)
    return body


def _said(found: Any, text: str, params: list[Body], answer: Answer) -> str:
    """Return the sentence of an object; of a danger as dangers are told."""
    if getattr(found, "severity", "") == "danger":
        return answer.warned(text, found.params)
    return filled(answer.speech.say(text), params)


class Manner(Enum):
    """The manner in which a member is written that takes more than its value, or goes elsewhere than under its name."""

    INLINE = 1
    SENTENCE = 2
    PARAMS = 3


@cache
def _parts(shape: Any) -> tuple[tuple[str, str, Manner | None, Writer], ...]:
    """Return the name on the wire of each member, its own, and how it is written."""
    return tuple((one.wire, one.name, _manner(one), _writer_of(one)) for one in members(shape))


_MANNERS = {SENTENCE: Manner.SENTENCE, PARAMS: Manner.PARAMS, INLINE: Manner.INLINE}


def _manner(one: Member) -> Manner | None:
    return next((manner for marker, manner in _MANNERS.items() if marker in one.markers), None)


def _writer_of(one: Member) -> Writer:
    if one.type in _BY_HAND:
        return _BY_HAND[one.type][1]
    for marker in one.markers:
        if marker in _BY_MARKER:
            return _BY_MARKER[marker]
    if one.item is not None:
        each = _writer_of(one.item)
        return lambda value, answer: [each(item, answer) for item in value]
    if one.type is Band:
        kind = one.kind or "number"
        return lambda value, answer: answer.band(kind, value)
    if one.kind is not None and one.type is float:
        of = one.kind
        return lambda value, answer: answer.q(of, value)
    return write if is_shape(one.type) else _PLAIN.get(one.type, _as_it_is)


def _to_tenths(band: Band) -> Band:
    return Band(floor(10.0 * band.low) / 10.0, round(10.0 * band.typical) / 10.0, ceil(10.0 * band.high) / 10.0)


def _as_it_is(value: Any, answer: Answer) -> Any:
    return value


_PLAIN: dict[Any, Writer] = {
    float: lambda value, answer: tidy(value),
    Decimal: lambda value, answer: tidy(float(value)),
    Quantity: lambda value, answer: answer.q(value.kind, value.value),
    Quantity | Measure: lambda value, answer: answer.measured(value),
    datetime: lambda value, answer: answer.moment(value),
    date: lambda value, answer: value.isoformat(),
    Money: lambda value, answer: answer.money(value),
    Refused | SeveralRefused: problems.refusal,
    Value: lambda value, answer: answer.show(value),
}
_BY_MARKER: dict[Marker, Writer] = {
    EXACT: _as_it_is,
    TERM: lambda value, answer: answer.show(value),
    WORDED: lambda value, answer: answer.speech.say(value),
    FIGURE: lambda value, answer: answer.figure(value),
    JOINED: lambda value, answer: " ".join(answer.sentence(each.text, each.params) for each in value),
    THREE_WAYS: lambda value, answer: titratable_acidity(value),
    TENTHS: lambda value, answer: answer.band("number", _to_tenths(value)),
    AS_STATED: lambda value, answer: value.isoformat(),
}
_BY_HAND: dict[Any, tuple[type[Schema], Writer]] = {
    Counted: (AssumedQuantitySchema, lambda value, answer: answer.figure(value))
}


def written_by(kind: type, schema: type[Schema], writer: Writer) -> None:
    """Declare how a class is written whose written form has more, or less, than its members."""
    _BY_HAND[kind] = schema, writer


@cache
def answer_schema(shape: Any) -> type[Schema]:
    """Return the schema of a declared object in an answer."""
    declared = shape_of(shape)
    if declared.asked:
        return request_schema(shape)
    own: dict[str, Any] = {}
    for one in members(shape):
        if INLINE in one.markers:
            own |= _inlined(one)
        else:
            own[one.wire] = _described(one)
    return type(f"{declared.name}Schema", (Open,), {**own, "__doc__": shape.__doc__, "__module__": shape.__module__})


def _inlined(one: Member) -> dict[str, Any]:
    """Return the fields of an object that stand in another; of one that may be left out, none must be there."""
    if FIGURE in one.markers:
        return dict(FigureSchema._declared_fields)
    found: dict[str, Any] = {}
    for each in members(one.type):
        if INLINE in each.markers:
            found |= _inlined(each)
        else:
            found[each.wire] = _described(replace(each, optional=each.optional or one.optional))
    return found


@cache
def envelope_schema(shape: Any) -> type[Schema]:
    """Return the schema of a declared object that is a whole answer, envelope included."""
    return _headed(shape, answer_schema(Envelope))


@cache
def reference_schema(shape: Any) -> type[Schema]:
    """Return the schema of a declared object that is a whole reference."""
    return _headed(shape, Modelled)


def _headed(shape: Any, head: type[Schema]) -> type[Schema]:
    name = shape_of(shape).name.removesuffix("Body") + "Answer"
    return type(name, (head, answer_schema(shape)), {"__doc__": shape.__doc__, "__module__": shape.__module__})


def _described(one: Member) -> fields.Field[Any]:
    more: dict[str, Any] = {"required": not one.optional}
    if one.description:
        more["metadata"] = {"description": one.description}
    if JOINED in one.markers:
        return text_of(**more)
    nested = _nested(one)
    if nested is not None:
        return fields.Nested(nested, **more)
    if PARAMS in one.markers:
        return fields.List(fields.Nested(SentenceParameterSchema), **more)
    if one.item is not None:
        inner = _nested(one.item)
        if inner is not None:
            return fields.List(fields.Nested(inner), **more)
        return _list(one, more)
    return Answered(_schema_of(one), **more)


def _nested(one: Member) -> type[Schema] | None:
    if FIGURE in one.markers:
        return FigureSchema
    for other in one.others:
        if isinstance(other, type) and issubclass(other, Schema):
            return other
    if one.type in _BY_HAND:
        return _BY_HAND[one.type][0]
    if THREE_WAYS in one.markers:
        return TitratableAcidityAnswerSchema
    return answer_schema(one.type) if is_shape(one.type) else None


def _list(one: Member, more: dict[str, Any]) -> Answered:
    assert one.item is not None
    most = 1000 if one.items is None else one.items.most
    return Answered({"type": "array", "maxItems": most, "items": _schema_of(one.item)}, **more)


def _schema_of(one: Member) -> dict[str, Any]:  # noqa: PLR0911 - one line a type
    for other in one.others:
        if isinstance(other, Answered):
            return other.schema
    if PROBLEM in one.markers:
        return OF_PROBLEM.schema
    words = one.choice.words if one.choice is not None else get_args(one.type)
    if one.choice is not None or (get_origin(one.type) is Literal and one.words is None):
        return {"type": "string", "enum": list(words)}
    if one.words is not None or one.type is str:  # words of a Literal: more of them may come
        return text_of(2000 if one.words is None else one.words.longest).schema
    if one.type is Band:
        return band(one.kind or "number").schema
    if one.kind is not None:
        return q(one.kind).schema
    return _number(one) if one.type in (int, float) else _SCHEMAS[one.type].schema


def _number(one: Member) -> dict[str, Any]:
    if one.measure is None:
        return whole().schema if one.type is int else number().schema
    as_number = int if one.type is int else float
    form = {"type": "integer", "format": "int32"} if one.type is int else {"type": "number", "format": "double"}
    ends = {"minimum": one.measure.low, "maximum": one.measure.high}
    return form | {name: as_number(end) for name, end in ends.items() if end is not None}


OF_PROBLEM = Answered({"$ref": "#/components/schemas/Problem"})
_SCHEMAS: dict[Any, Answered] = {
    bool: flag(),
    Decimal: number(),
    datetime: moment(),
    date: Answered({"type": "string", "format": "date", "maxLength": 10}),
    Money: money(),
    Refused | SeveralRefused: OF_PROBLEM,
    Value: text_of(),
    Mapping[str, str]: Answered(
        {"type": "object", "maxProperties": 16, "additionalProperties": {"type": "string", "maxLength": 200}}
    ),
}

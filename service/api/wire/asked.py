"""Requests: marshmallow fields and schemas of declared dataclasses, which load to them."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING
from datetime import date, datetime
from functools import cache, cached_property
from itertools import islice
from typing import Any, Literal, NamedTuple, get_args, get_origin

from marshmallow import RAISE, Schema, ValidationError, fields, post_load, validates_schema

from service.api.moments import Day, LocaleField, Moment, TimeZoneField
from service.api.quantities import (
    REQUIRED,
    AcidityField,
    AmountField,
    Choice,
    Coded,
    Flag,
    LabelsField,
    MoneyField,
    Number,
    QuantityField,
    SugarField,
    Text,
    UnknownField,
    Whole,
    fault,
)
from service.declared import AS_SENT, Bounds, Member, Rule, is_shape, members, shape_of
from service.drink import Amount, Sugar
from service.errors import Fault, Names
from service.limits.requests import MOST_FAULTS
from service.money import Money

NOT_AN_OBJECT = Coded("not-an-object", "Must be an object.")


class Items(fields.List[Any]):
    """A list of bounded length; a list that is too long gets one fault, not one per item.

    Where more is wrong with it than a problem document tells, the rest of it is not looked at.
    """

    def __init__(self, inner: fields.Field[Any] | type[Schema], *, most: int, least: int = 1, **kwargs: Any) -> None:
        super().__init__(fields.Nested(inner) if not isinstance(inner, fields.Field) else inner, **kwargs)
        self.least, self.most = least, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise fault("not-a-list", "Must be a list.")
        if not self.least <= len(value) <= self.most:
            text = "Must hold {least} to {most} items; this holds {found}."
            raise fault("length", text, least=float(self.least), most=float(self.most), found=float(len(value)))
        found, wrong, faults = [], {}, 0
        for i, item in enumerate(value):
            try:
                found.append(self.inner.deserialize(item, attr, data))
            except ValidationError as error:
                wrong[i] = error.messages
                faults += _faults_in(error.messages)
                if faults > MOST_FAULTS:
                    break
        if wrong:
            raise ValidationError(wrong)
        return tuple(found)

    def bounds(self) -> dict[str, Any]:
        return {"minItems": self.least, "maxItems": self.most}


def _faults_in(messages: Any) -> int:
    """Return how many messages there are of something and of all within it."""
    return sum(map(_faults_in, messages.values())) if isinstance(messages, dict) else len(messages)


class Keyed(fields.Dict):
    """Declared objects by keys of the caller's, at most so many; the faults of one are named below its key."""

    def __init__(self, shape: Any, *, most: int, longest: int, **kwargs: Any) -> None:
        super().__init__(keys=fields.Str(), values=Object(shape), **kwargs)
        self.most, self.key, self.inner = most, Text(longest=longest), Object(shape)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise ValidationError([NOT_AN_OBJECT])
        if len(value) > self.most:
            text = "Must hold at most {most} keys; this holds {found}."
            raise fault("length", text, most=float(self.most), found=float(len(value)))
        found, wrong = {}, {}
        for key, item in value.items():
            try:
                self.key.deserialize(key)
                found[key] = self.inner.deserialize(item, key, value)
            except ValidationError as error:
                wrong[key] = error.messages
        if wrong:
            raise ValidationError(wrong)
        return found

    def openapi(self) -> dict[str, Any]:
        return {"maxProperties": self.most}


class Object(fields.Nested):
    """A declared object; looks at the fields that were sent, which are few of those that there are."""

    def __init__(self, shape: Any, **kwargs: Any) -> None:
        super().__init__(request_schema(shape), **kwargs)
        self.shape, self.checks = shape, checks_of(shape)

    @cached_property
    def known(self) -> Mapping[str, fields.Field[Any]]:
        return self.schema.fields

    @cached_property
    def required_names(self) -> list[str]:
        return [name for name, one in self.known.items() if one.required]

    @cached_property
    def unknown_field(self) -> UnknownField:
        return UnknownField(self.known)

    def _deserialize(self, value: Any, attr: str | None, data: Any, partial: Any = None, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise ValidationError([NOT_AN_OBJECT])
        found: dict[str, Any] = {}
        wrong: dict[str, Any] = {name: [REQUIRED] for name in self.required_names if name not in value}
        for name, sent in value.items():
            inner = self.known.get(name)
            if inner is None:
                if len(wrong) < MOST_FAULTS:
                    wrong[name] = [self.unknown_field]
                continue
            try:
                found[inner.attribute or name] = inner.deserialize(sent, name, value)
            except ValidationError as error:
                wrong[name] = error.messages
        if self.checks is not None:
            wrong = _all_wrong(self.shape, self.checks, value, wrong)
        if wrong:
            raise ValidationError(wrong)
        return _made(self.shape, found, value)


class RequestSchema(Schema):
    """Base of the schemas that load a declared object or a whole request; they refuse unknown fields."""

    class Meta:
        unknown = RAISE

    error_messages = {"type": NOT_AN_OBJECT}  # noqa: RUF012 - marshmallow's own convention
    shape: Any

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.error_messages["unknown"] = UnknownField(self.fields)

    def load(self, data: Any, **kwargs: Any) -> Any:
        """Load as marshmallow does; of an object with far too many fields, as many as one problem document names.

        raises: ValidationError, with every fault
        """
        if isinstance(data, Mapping) and len(data) > MOST_FAULTS:
            known = {name: data[name] for name in self.fields if name in data}
            data = known | dict(islice(data.items(), MOST_FAULTS))
        return super().load(data, **kwargs)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def keep_rules(self, data: Any, sent: Any, **kwargs: Any) -> None:
        checks = checks_of(self.shape)
        if checks and isinstance(sent, Mapping) and (wrong := _all_wrong(self.shape, checks, sent, {})):
            raise ValidationError(wrong)

    @post_load(pass_original=True)
    def make(self, data: Mapping[str, Any], sent: Any, **kwargs: Any) -> Any:
        return _made(self.shape, data, sent)

    def handle_error(self, error: ValidationError, data: Any, **kwargs: Any) -> None:
        """Put missing fields first, then wrong ones in the order sent; of a misplaced one name the right place."""
        if isinstance(error.messages, dict) and isinstance(data, Mapping):
            elsewhere = shape_of(self.shape).elsewhere
            error.messages |= {name: [_coded(elsewhere[name])] for name in elsewhere.keys() & error.messages.keys()}
            place = {name: i for i, name in enumerate(data)}
            error.messages = dict(sorted(error.messages.items(), key=lambda one: place.get(one[0], -1)))


class Checks(NamedTuple):
    """The checks of an object beside those of its fields. one_of: names of which it must have exactly one"""

    rules: tuple[Rule, ...]
    one_of: frozenset[str]
    elsewhere: Mapping[str, Fault]


@cache
def checks_of(shape: Any) -> Checks | None:
    """Return the checks of a declared object beside those of its fields, None where there are none."""
    declared = shape_of(shape)
    names = frozenset(one.wire for one in members(shape)) if declared.exactly_one else frozenset()
    found = Checks(declared.rules, names, declared.elsewhere)
    return found if any(found) else None


def _all_wrong(shape: Any, checks: Checks, sent: Mapping[str, Any], wrong: dict[str, Any]) -> dict[str, Any]:
    """Return all that is wrong with an object: in its fields, and by its rules over the fields as they were sent."""
    if checks.one_of and len(checks.one_of & sent.keys()) != 1:
        names = Names(one.wire for one in members(shape))
        wrong = _merged(wrong, [Coded("exactly-one", "Give exactly one of: {names}.", names=names)])
    for rule in checks.rules:
        if broken := list(rule(sent)):
            wrong = _merged(wrong, messages_of(broken))
    for name in checks.elsewhere.keys() & sent.keys():
        wrong[name] = [_coded(checks.elsewhere[name])]
    return wrong


def _merged(one: Any, other: Any) -> Any:
    """Return messages of both, by field; those about an object as a whole stand under _schema."""
    if isinstance(one, list) and isinstance(other, list):
        return one + other
    one, other = ({"_schema": messages} if isinstance(messages, list) else messages for messages in (one, other))
    found = dict(one)
    for name, messages in other.items():
        found[name] = _merged(found[name], messages) if name in found else messages
    return found


def messages_of(faults: Iterable[Fault]) -> dict[str, Any]:
    """Return faults as marshmallow's messages; one about a whole object or list stands under its _schema."""
    found: dict[Any, Any] = {}
    for one in faults:
        node: Any = found
        *way, last = [int(t) if t.isdigit() else t for t in one.pointer.split("/")[1:]] or ["_schema"]
        for token in way:
            inner = node.setdefault(token, {})
            if isinstance(inner, list):  # about the whole, and now something inside is wrong too
                inner = node[token] = {"_schema": inner}
            node = inner
        if isinstance(node.get(last), dict):
            node, last = node[last], "_schema"
        node.setdefault(last, []).append(_coded(one))
    return found


def _coded(one: Fault) -> Coded:
    return Coded(one.code, one.text, **dict(one.params))


def _made(shape: type, found: Mapping[str, Any], sent: Any) -> Any:
    as_sent = _kept_as_sent(shape)
    return shape(**found) if as_sent is None else shape(**found, **{as_sent: sent})


@cache
def _kept_as_sent(shape: Any) -> str | None:
    return next((one.name for one in members(shape) if AS_SENT in one.markers), None)


@cache
def request_schema(shape: Any) -> type[RequestSchema]:
    """Return the schema that loads a declared dataclass."""
    declared = [one for one in members(shape) if not one.computed and AS_SENT not in one.markers]
    own = {one.wire: _field(one) for one in declared}
    about = {"__doc__": shape.__doc__, "__module__": shape.__module__, "shape": shape}
    return type(f"{shape_of(shape).name}Schema", (RequestSchema,), {**own, **about})


class LoadedAlone(fields.Nested):
    """A part of a request that is loaded on its own, so that its faults refuse nothing else."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        return value


def loaded_alone(shape: Any) -> type[LoadedAlone]:
    """Return the field of a declared object that is loaded on its own."""

    class Alone(LoadedAlone):
        def __init__(self, **kwargs: Any) -> None:
            super().__init__(request_schema(shape), **kwargs)

    return Alone


def object_of(shape: type) -> Object:
    """Return the field that loads a declared dataclass by itself."""
    return Object(shape)


def _field(one: Member) -> fields.Field[Any]:
    """Return the field of a request that a member is, with its name in the core and whether it must be stated."""
    more: dict[str, Any] = {"required": not one.optional and one.default is MISSING}
    if one.name != one.wire:
        more["attribute"] = one.name
    if isinstance(one.default, str | bool):
        more["load_default"] = one.default
    if one.description:
        more["metadata"] = {"description": one.description}
    return _typed(one, more)


def _typed(one: Member, more: dict[str, Any]) -> fields.Field[Any]:
    for other in one.others:
        if isinstance(other, type) and issubclass(other, fields.Field):
            return other(**more)
    if one.item is not None:
        assert one.items is not None, f"{one.name}: a list of a request has bounds"
        return Items(_typed(one.item, {}), most=one.items.most, least=one.items.least, **more)
    if get_origin(one.type) is Literal:
        return Choice(*get_args(one.type), **more)
    if one.choice is not None:
        return Choice(*one.choice.words, otherwise=one.choice.otherwise, **more)
    if is_shape(one.type):
        return Object(one.type, **more)
    return _keyed(one, more) if get_origin(one.type) is Mapping and one.items else _PLAIN[one.type](one, more)


def _keyed(one: Member, more: dict[str, Any]) -> Keyed:
    assert one.items is not None, f"{one.name}: its keys are bounded"
    assert one.words is not None, f"{one.name}: a key is bounded"
    return Keyed(get_args(one.type)[1], most=one.items.most, longest=one.words.longest, **more)


def _bounds(measure: Bounds | None) -> dict[str, Any]:
    if measure is None:
        return {}
    found = {"high": measure.high, "above": measure.above}
    return found if measure.low is None else {"low": measure.low, **found}


def _float(one: Member, more: dict[str, Any]) -> fields.Field[Any]:
    if one.kind is None:
        return Number(**_bounds(one.measure), **more)
    if one.kind == "acidity":
        return AcidityField(**_bounds(one.measure), **more)
    return QuantityField(one.kind, **_bounds(one.measure), **more)


def _text(one: Member, more: dict[str, Any]) -> fields.Field[Any]:
    if one.words is None:
        return Text(**more)
    if one.words.form == "locale":
        return LocaleField(**more)
    if one.words.form == "time-zone":
        return TimeZoneField(**more)
    return Text(longest=one.words.longest, shortest=one.words.shortest, **more)


_PLAIN: dict[Any, Callable[[Member, dict[str, Any]], fields.Field[Any]]] = {
    float: _float,
    int: lambda one, more: Whole(**_bounds(one.measure), **more),
    Mapping[str, str]: lambda one, more: LabelsField(**more),
    bool: lambda one, more: Flag(**more),
    str: _text,
    datetime: lambda one, more: Moment(**more),
    date: lambda one, more: Day(**more),
    Amount: lambda one, more: AmountField(**_bounds(one.measure), **more),
    Money: lambda one, more: MoneyField(free=one.measure is None, **more),
    Sugar: lambda one, more: SugarField(**more),
}

"""From declarations to the wire: our fields in a marshmallow schema, faults by two ways, answers as they are written.

What marshmallow promises is its documentation, release 4: "Quickstart" (validation, `data_key`, `attribute`,
`load_default`, `partial`, `many`), "Extending Schemas" (hooks), and the API reference of `Schema` and `validate`.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

import orjson
import pytest
from flask import Flask, g
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from marshmallow import (
    EXCLUDE,
    Schema,
    ValidationError,
    fields,
    post_load,
    pre_load,
    validate,
    validates,
    validates_schema,
)

from service.api import openapi
from service.api.answers import Answer
from service.api.app import OPERATIONS
from service.api.endpoint.computing import work
from service.api.endpoint.serving import enveloped
from service.api.moments import Day, Moment
from service.api.quantities import (
    AcidityField,
    AmountField,
    Choice,
    Flag,
    LabelsField,
    MoneyField,
    Number,
    QuantityField,
    SugarField,
    Text,
    Whole,
)
from service.api.references import REFERENCES
from service.api.wire import Items, Object, RequestSchema, request_schema, write
from service.api.words import ENGLISH
from service.declared import INLINE, PARAMS, Declared, is_shape, items, members, number, shape, volume, whole
from service.errors import Fault
from tests.api.conforms import conforms
from tests.api.test_fuzz import documents, leaves, mutated, numbers, paths, words
from tests.asking import TAKING_JSON
from tests.golden.answers import path_of, requests

REQUESTS = requests()
"""Every example of the document, and what reaches further."""
every_operation = pytest.mark.parametrize("operation", TAKING_JSON, ids=lambda o: o.operation_id)
every_request = pytest.mark.parametrize("name", REQUESTS)
fuzz = settings(deadline=None, max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])


ITEM_BY_ITEM = ("/v1/batch-lists", "/v1/spec-checks")
"""Lists of which a wrong item is answered beside the others, so that the wire lets it pass."""


def operation_of(name: str) -> Any:
    return next(operation for operation in OPERATIONS if operation.path == path_of(name))


def quantity(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def messages(schema: Schema, document: Any) -> Any:
    with pytest.raises(ValidationError) as refused:
        schema.load(document)
    return refused.value.messages


# An invented request


def _names_once(sent: Mapping[str, Any]) -> Iterator[Fault]:
    names = [one.get("name") for one in sent.get("parts", []) if isinstance(one, Mapping)]
    if len(set(map(str, names))) < len(names):
        yield Fault("/parts", "duplicate", "Each name stands once.")


@shape("WirePart")
@dataclass(frozen=True)
class Part:
    """An invented part."""

    name: Declared[str]
    capacity_ml: Annotated[float | None, volume(low=20.0)] = None


@shape("WireAsked", rules=[_names_once], elsewhere=[Fault("/colour", "elsewhere", "Stated by the shelf.")])
@dataclass(frozen=True)
class Asked:
    """An invented request."""

    count: Annotated[int, whole(low=1, high=9)]
    parts: Annotated[tuple[Part, ...], items(3)] = ()
    share: Annotated[float | None, number(low=0.0, high=1.0)] = None
    half: Declared[bool] = True


# Our fields in a marshmallow schema


def _no() -> bool:
    raise ValidationError("No.")


class Validated(Schema):
    """Each field with a validator, which sees what the field loads to."""

    number = Number(validate=validate.Range(min=5))
    whole = Whole(validate=[validate.Range(min=5), validate.Range(max=9)])
    volume = QuantityField("volume", validate=validate.Range(min=5000.0))  # in its base unit, ml
    acidity = AcidityField(validate=validate.Range(max=100.0))
    text = Text(validate=validate.Length(max=3))
    choice = Choice("a", "b", validate=validate.OneOf(["a"]))
    flag = Flag(validate=validate.Equal(comparable=True))
    moment = Moment(validate=lambda at: at.year == 2026 or _no())
    day = Day(validate=lambda at: at.year == 2026 or _no())
    labels = LabelsField(validate=validate.Length(max=1))
    money = MoneyField(validate=lambda money: money.currency == "EUR" or _no())
    sugar = SugarField(validate=lambda sugar: sugar.unit == "brix" or _no())
    amount = AmountField(validate=lambda amount: amount.unit == "ml" or _no())
    items = Items(Number(validate=validate.Range(min=5)), most=3, validate=validate.Length(min=2))
    asked = Object(Asked, validate=lambda asked: asked.count == 1 or _no())


@pytest.mark.parametrize("name, right, wrong", [
    ("number", 5, 4.9), ("whole", 5, 4), ("whole", 9, 10), ("volume", quantity(5, "l"), quantity(4.9, "l")),
    ("acidity", quantity(100, "meq/l"), quantity(101, "meq/l")), ("text", "abc", "abcd"), ("choice", "a", "b"),
    ("flag", True, False), ("moment", "2026-11-28T14:00:00Z", "2027-11-28T14:00:00Z"),
    ("day", "2026-11-28", "2025-11-28"), ("labels", {"a": "b"}, {"a": "b", "c": "d"}),
    ("money", {"amount": "1", "currency": "EUR"}, {"amount": "1", "currency": "USD"}),
    ("sugar", quantity(7, "brix"), quantity(7, "g/l")), ("amount", quantity(7, "ml"), quantity(7, "g")),
    ("items", [5, 6], [5]), ("items", [5, 6], [5, 4]), ("asked", {"count": 1}, {"count": 2}),
])  # fmt: skip
def test_a_validator_is_run_on_what_a_field_loads_to(name: str, right: Any, wrong: Any) -> None:
    """Quickstart, "Validation": `validate` is a callable or a list of them."""
    assert set(Validated().load({name: right})) == {name}
    assert list(messages(Validated(), {name: wrong})) == [name]


def test_a_validator_says_what_it_was_told_to_say() -> None:
    """API reference, `validate.Range`: `error` may be interpolated with {input}, {min} and {max}."""

    class Own(Schema):
        number = Number(validate=validate.Range(min=5, error="{input} is under {min}."))

    assert messages(Own(), {"number": 4}) == {"number": ["4.0 is under 5."]}


def test_a_validator_is_not_asked_about_what_is_no_value_at_all() -> None:
    """What does not load is not validated further."""
    assert messages(Validated(), {"number": "four"}) == {"number": ["Must be a number."]}
    assert messages(Validated(), {"number": None}) == {"number": ["null is not accepted; leave the field out."]}


class Named(Schema):
    """Names on the wire that are not those of the schema, and not those of what is loaded."""

    volume = QuantityField("volume", data_key="howMuch", attribute="volume_ml", required=True)
    share = Number(data_key="part", load_default=0.5)
    garnish = Choice("twist", load_default="twist")
    asked = Object(Asked, data_key="inner")


def test_data_key_attribute_and_load_default_are_those_of_the_documentation() -> None:
    """`data_key` is the name in what is sent, `attribute` that in what is loaded, `load_default` what is not sent."""
    found = Named().load({"howMuch": quantity(1, "l"), "inner": {"count": 2}})
    assert found == {"volume_ml": 1000.0, "share": 0.5, "garnish": "twist", "asked": Asked(2)}
    wrong = messages(Named(), {"volume": 1, "part": "x", "inner": {"count": 99, "colour": "red"}})
    assert wrong.keys() == {"howMuch", "volume", "part", "inner"}  # by the names that were sent
    assert wrong["inner"].keys() == {"count", "colour"}


def test_what_is_not_known_is_refused_or_left_out_as_the_caller_of_load_says() -> None:
    """API reference, `Schema.load`: `unknown` overrides that of Meta; a request's own is RAISE."""
    sent = {"count": 2, "nonsense": 1}
    assert messages(request_schema(Asked)(), sent) == {"nonsense": ["Unknown field."]}
    assert request_schema(Asked)().load(sent, unknown=EXCLUDE) == Asked(2)
    assert request_schema(Asked)(unknown=EXCLUDE).load(sent) == Asked(2)


def test_many_of_them_are_loaded_at_once_and_faults_tell_which() -> None:
    """`Schema.load`: `many` takes a list; faults stand under the place of each item."""
    schema = request_schema(Asked)(many=True)
    assert schema.load([{"count": 1}, {"count": 2}]) == [Asked(1), Asked(2)]
    twice = [{"count": 1}, {"count": 0}, {"count": 3, "parts": [{"name": "a"}, {"name": "a"}]}]
    wrong = messages(schema, twice)
    assert wrong.keys() == {1, 2}
    assert (wrong[1].keys(), wrong[2].keys()) == ({"count"}, {"parts"})


def test_a_text_is_loaded_and_validate_tells_without_raising() -> None:
    """`Schema.loads` takes JSON; `Schema.validate` returns the messages, none where it loads."""
    schema = request_schema(Asked)()
    assert schema.loads('{"count": 4}') == Asked(4)
    assert schema.validate({"count": 4}) == {}
    assert schema.validate({"count": 40}).keys() == {"count"}


def test_only_and_exclude_leave_fields_out() -> None:
    """API reference, `Schema`: `only` and `exclude` name the fields that there are."""
    assert request_schema(Asked)(only=["count"]).load({"count": 4}) == Asked(4)
    assert messages(request_schema(Asked)(exclude=["share"]), {"count": 4, "share": 1}).keys() == {"share"}


def test_hooks_of_a_schema_are_run_in_their_order() -> None:
    """Extending Schemas: pre_load, then the fields, `validates`, `validates_schema`, then post_load."""
    told: list[str] = []

    class Hooked(request_schema(Asked)):  # type: ignore[misc] # the class is made of the declaration
        @pre_load
        def first(self, data: Any, **kwargs: Any) -> Any:
            told.append("pre_load")
            return {"count" if name == "howMany" else name: value for name, value in data.items()}

        @validates("count")
        def second(self, value: int, data_key: str) -> None:
            told.append("validates")
            if value == 7:
                raise ValidationError("Not seven.")

        @validates_schema
        def third(self, data: Any, **kwargs: Any) -> None:
            told.append("validates_schema")

        @post_load
        def wake(self, data: Any, **kwargs: Any) -> Any:  # after "make": hooks of one kind go by their names
            told.append("post_load")
            return data

    assert Hooked().load({"howMany": 3}) == Asked(3)
    assert told == ["pre_load", "validates", "validates_schema", "post_load"]
    assert messages(Hooked(), {"howMany": 7}) == {"count": ["Not seven."]}


def test_a_request_is_declared_by_hand_as_well_as_by_its_class() -> None:
    """`Schema.from_dict` of the documentation with our fields beside one of marshmallow's own."""
    mixed = Schema.from_dict({"asked": Object(Asked), "mail": fields.Email(), "parts": Items(Object(Part), most=2)})
    assert mixed().load({"asked": {"count": 1}, "mail": "bar@example.org", "parts": [{"name": "a"}]}) == {
        "asked": Asked(1), "mail": "bar@example.org", "parts": (Part("a"),),
    }  # fmt: skip
    assert messages(mixed(), {"mail": "bar", "parts": [{}, {}, {}]}).keys() == {"mail", "parts"}


# What a declaration loads to, written out by hand


def test_a_request_loads_to_its_class() -> None:
    sent = {"count": 2.0, "parts": [{"name": "a", "capacity": quantity(0.5, "l")}, {"name": "b"}], "share": 1}
    assert request_schema(Asked)().load(sent) == Asked(2, (Part("a", 500.0), Part("b")), share=1.0)


@pytest.mark.parametrize("sent, wrong", [
    ({}, [("/count", "required")]),
    ({"count": True}, [("/count", "not-a-number")]), ({"count": 1.5}, [("/count", "not-an-integer")]),
    ({"count": 0}, [("/count", "out-of-range")]), ({"count": None}, [("/count", "null")]),
    ({"count": 1, "half": 1}, [("/half", "not-a-boolean")]), ({"count": 1, "parts": {}}, [("/parts", "not-a-list")]),
    ({"count": 1, "parts": []}, [("/parts", "length")]),
    ({"count": 1, "parts": [{"name": str(i)} for i in range(4)]}, [("/parts", "length")]),
    ({"count": 1, "parts": ["a", {}, {"name": "c", "capacity": quantity(1, "ml")}]},
     [("/parts/0", "not-an-object"), ("/parts/1/name", "required"), ("/parts/2/capacity/value", "out-of-range")]),
    ({"count": 1, "parts": [{"name": "a"}, {"name": "a"}]}, [("/parts", "duplicate")]),
    ({"count": 1, "colour": "red", "color": "red"}, [("/colour", "elsewhere"), ("/color", "unknown-field")]),
    ({"count": 0, "parts": [{"name": "a"}, {"name": "a"}]}, [("/count", "out-of-range"), ("/parts", "duplicate")]),
])  # fmt: skip
def test_every_fault_is_told_at_its_place(sent: dict[str, Any], wrong: list[tuple[str, str]]) -> None:
    """RFC 6901 pointers; rules see the object as it was sent and are told beside what is wrong in a field."""
    assert sorted(place[:2] for place in told_of(request_schema(Asked)().load, sent)) == sorted(wrong)
    assert sorted(place[:2] for place in told_of(Object(Asked).deserialize, sent)) == sorted(wrong)


# Two ways to the same faults: ours, quick, and marshmallow's own nesting all the way down


def _plain(field: fields.Field[Any]) -> fields.Field[Any]:
    """The same field with what is nested in it left to marshmallow."""
    if isinstance(field, Items):
        copied = deepcopy(field)
        copied.inner = _plain(field.inner)
        return copied
    if isinstance(field, Object):
        named = {"attribute": field.attribute, "required": field.required, "validate": field.validate}
        return fields.Nested(plain_schema(field.shape), **named)
    return deepcopy(field)


@cache
def plain_schema(kind: Any) -> type[RequestSchema]:
    own = {name: _plain(field) for name, field in request_schema(kind)._declared_fields.items()}
    return type(f"Plain{request_schema(kind).__name__}", (RequestSchema,), {**own, "shape": kind})


def told_of(load: Any, document: Any) -> list[tuple[str, str, str]]:
    """Pointer, code and text of each fault; none where it loads."""
    try:
        load(document)
    except ValidationError as error:
        return list(_told(error.messages, ""))
    return []


def _told(found: Any, pointer: str) -> Iterator[tuple[str, str, str]]:
    if isinstance(found, Mapping):
        for name, inner in found.items():
            yield from _told(inner, pointer if name == "_schema" else f"{pointer}/{name}")
        return
    for message in found:
        yield pointer, getattr(message, "code", ""), str(message)


def same_both_ways(kind: Any, document: Any) -> bool:
    """Assert that both refuse a document for the same, or load the same of it; whether it was refused."""
    ours, theirs = Object(kind), plain_schema(kind)()
    refused = told_of(ours.deserialize, document)
    assert Counter(refused) == Counter(told_of(theirs.load, document))
    assert refused == [] or Counter(refused) == Counter(told_of(request_schema(kind)().load, document))
    assert all(code for _, code, _ in refused), refused  # no message of marshmallow's own gets through
    if not refused:
        assert ours.deserialize(document) == theirs.load(document) == request_schema(kind)().load(document)
    return bool(refused)


@every_request
def test_what_is_right_loads_to_the_same_both_ways(name: str) -> None:
    assert not same_both_ways(operation_of(name).request, REQUESTS[name])


@every_request
@fuzz
@given(data=st.data())
def test_what_is_wrong_is_told_alike_both_ways(name: str, data: st.DataObject) -> None:
    """Random changes of every request that is kept: deleted, replaced by a number, a word, a leaf or a document."""
    body = REQUESTS[name]
    for _ in range(data.draw(st.integers(1, 4))):
        path = data.draw(st.sampled_from(paths(body)))
        body = mutated(body, path, data.draw(numbers | words | leaves | st.just("delete") | documents))
    same_both_ways(operation_of(name).request, body)


@every_operation
@fuzz
@given(data=st.data())
def test_whatever_is_sent_is_told_alike_both_ways(operation: Any, data: st.DataObject) -> None:
    """Any object, some of it by the names of fields; what is no object is refused before it is loaded."""
    known = st.sampled_from(sorted(operation.schema.fields))
    same_both_ways(operation.request, data.draw(st.dictionaries(known | st.text(max_size=10), documents, max_size=6)))


@every_operation
def test_a_thousand_unknown_fields_are_enough_both_ways(operation: Any) -> None:
    """A problem document tells a thousand; a body with many more costs no more."""
    body = {f"x{i}": 1 for i in range(3000)}
    for load in (Object(operation.request).deserialize, request_schema(operation.request)().load):
        unknown = [pointer for pointer, code, _ in told_of(load, body) if code == "unknown-field"]
        assert 900 < len(unknown) <= 1000
        assert set(unknown) <= {f"/x{i}" for i in range(1000)}  # the first that were sent


# The document beside the wire: JSON Schema, draft 2020-12, by the library jsonschema


@cache
def _asked_by_the_document(operation_id: str) -> Draft202012Validator:
    document = openapi.document(OPERATIONS, REFERENCES)
    (of,) = (of for item in document["paths"].values() for of in item.values() if of["operationId"] == operation_id)
    schema = of["requestBody"]["content"]["application/json"]["schema"]
    return Draft202012Validator({**schema, "components": document["components"]})


@pytest.mark.parametrize("name", [one for one in REQUESTS if path_of(one) not in ITEM_BY_ITEM])
@fuzz
@given(data=st.data())
def test_what_the_document_refuses_the_wire_refuses(name: str, data: st.DataObject) -> None:
    """The document never promises a refusal that does not come. The wire refuses more: rules, bounds in other units."""
    operation, body = operation_of(name), REQUESTS[name]
    for _ in range(data.draw(st.integers(1, 2))):
        path = data.draw(st.sampled_from(paths(body)))
        body = mutated(body, path, data.draw(numbers | words | leaves | st.just("delete") | documents))
    faults = [
        f"{one.json_path}: {one.message}" for one in _asked_by_the_document(operation.operation_id).iter_errors(body)
    ]
    if faults:
        assert told_of(operation.schema.load, body), faults


# Answers


@cache
def answered(name: str) -> tuple[Any, Any, dict[str, Any]]:
    """Return the answer of the core to a request, the same as it is written, and that in its envelope."""
    operation = operation_of(name)
    asked = operation.schema.load(deepcopy(REQUESTS[name]))
    answer = Answer(asked.system)
    with Flask(__name__).app_context():
        g.language = ENGLISH  # of the request, which each item of a list is answered in
        notes, found = work(operation.view, asked)
    written = orjson.loads(orjson.dumps(operation.write(found, answer)))  # a rollout is written in fragments of JSON
    return found, written, enveloped(operation, asked, answer, notes, written)


def held(found: Any, body: Mapping[str, Any], at: str = "") -> Iterator[tuple[str, bool, bool]]:
    """Each member of an object and of all in it: where it stands, whether it is None, whether it was written."""
    for one in members(type(found)):
        value = getattr(found, one.name)
        if INLINE in one.markers:
            yield from held(value, body, at) if is_shape(type(value)) else ()
            continue
        yield f"{at}/{one.wire}", value is None, one.wire in body
        inner = body.get(one.wire)
        if PARAMS in one.markers or inner is None:
            continue
        if is_shape(type(value)) and isinstance(inner, Mapping):
            yield from held(value, inner, f"{at}/{one.wire}")
        elif isinstance(value, Sequence) and isinstance(inner, list) and not isinstance(value, str):
            for i, (item, written) in enumerate(zip(value, inner, strict=True)):
                if is_shape(type(item)) and isinstance(written, Mapping):
                    yield from held(item, written, f"{at}/{one.wire}/{i}")


@pytest.mark.parametrize("name", [one for one in REQUESTS if path_of(one) != "/v1/rollouts"])
def test_what_an_answer_leaves_out_is_none_and_nothing_else(name: str) -> None:
    """RFC 8259 has null; this service leaves the field out instead, and leaves out nothing that it knows. Of a rollout,
    which is written while it is computed, no answer is ever whole."""
    found, written, _ = answered(name)
    places = list(held(found, written))
    assert places
    assert [place for place, is_none, is_written in places if is_none == is_written] == []
    assert "null" not in _leaves(written)


def _leaves(node: Any) -> set[str]:
    if isinstance(node, Mapping):
        return {leaf for inner in node.values() for leaf in _leaves(inner)}
    if isinstance(node, list):
        return {leaf for inner in node for leaf in _leaves(inner)}
    return {"null"} if node is None else {"value"}


@every_request
def test_every_answer_is_what_the_document_promises(name: str) -> None:
    """JSON Schema of the OpenAPI document, by jsonschema, with every object closed."""
    _, _, body = answered(name)
    conforms(operation_of(name).operation_id, body)


def test_an_answer_is_written_by_its_declaration() -> None:
    """By hand: a volume in the caller's unit, 29.5735295625 ml to the US fluid ounce (NIST SP 811, appendix B.8)."""
    part = Part("a", 591.47059125)
    assert write(part, Answer("metric")) == {"name": "a", "capacity": quantity(591.47059125, "ml")}
    assert write(part, Answer("us")) == {"name": "a", "capacity": {"value": pytest.approx(20.0), "unit": "oz"}}
    assert write(Part("a"), Answer("us")) == {"name": "a"}
    both = write(Asked(2, (Part("a"), Part("b")), 0.5), Answer("metric"))
    assert both == {"count": 2, "parts": [{"name": "a"}, {"name": "b"}], "share": 0.5, "half": True}

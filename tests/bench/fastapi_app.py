"""The same core behind FastAPI and pydantic, to know what the stack costs. Never shipped.

Models are made of the declarations of the service's own requests, so that both check the same; rules across fields are
left out. The answer is written by orjson, without a model of its own, metrics, logs, keys or problem documents: this is
FastAPI at its best.
"""

from collections.abc import Callable
from inspect import signature
from typing import Annotated, Any, Literal

import orjson
from fastapi import FastAPI, Response
from marshmallow import Schema, fields, missing
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StrictBool, WrapValidator, create_model

from service.api import carbonation, prep_sheet
from service.api.answers import Answer
from service.api.endpoint import Request
from service.api.quantities import Choice, Flag, Number, QuantityField, Text, Whole
from service.api.shapes import Items
from service.notes import Notes

STRICT = ConfigDict(extra="forbid", protected_namespaces=(), allow_inf_nan=False)
COMMON = frozenset(Request().fields)
_MODELS: dict[type[Schema], type[BaseModel]] = {}


def model_of(schema: Schema) -> type[BaseModel]:
    """The pydantic model of a request or of a part of one."""
    kind = type(schema)
    if kind not in _MODELS:
        members: dict[str, Any] = {}
        for name, field in schema.load_fields.items():
            default = None if field.load_default is missing else field.load_default
            members[name] = (_typed(field), ...) if field.required else (_typed(field), default)
        _MODELS[kind] = create_model(kind.__name__, __config__=STRICT, **members)
    return _MODELS[kind]


def _typed(field: Any) -> Any:
    if isinstance(field, fields.Nested):
        core = WrapValidator(lambda sent, validated: _core(field.schema, validated(sent), sent))
        return Annotated[model_of(field.schema), core]
    if isinstance(field, Items):
        bounds = Field(min_length=field.least, max_length=field.most)
        return Annotated[list[_typed(field.inner)], bounds, AfterValidator(tuple)]  # type: ignore[misc]
    if isinstance(field, QuantityField) and field.kind != "acidity":
        return Annotated[_quantity(field.units), AfterValidator(lambda q: field.convert(q.value, q.unit))]
    plain = _PLAIN.get(type(field))
    return plain(field) if plain else Annotated[Any, AfterValidator(field.deserialize)]


def _bounded(kind: type[float], field: Any) -> Any:
    least = {"ge": field.low} if field.above is None else {"gt": field.above}
    return Annotated[kind, Field(**least, le=field.high)]


_PLAIN: dict[type[fields.Field[Any]], Callable[[Any], Any]] = {
    Choice: lambda field: Literal[field.words],
    Flag: lambda _: StrictBool,
    Number: lambda field: _bounded(float, field),
    Text: lambda field: Annotated[str, Field(min_length=field.shortest, max_length=field.longest)],
    Whole: lambda field: _bounded(int, field),
}
"""Types that pydantic knows; what else there is, a time zone for example, is read by the service's own field."""


def _quantity(units: tuple[str, ...]) -> type[BaseModel]:
    unit: Any = Literal[units]
    return create_model("Quantity", __config__=STRICT, value=(float, ...), unit=(unit, ...))


def _core(schema: Any, made: BaseModel, sent: Any) -> Any:
    """What the core is given for a part of a request; a spec keeps what was sent, which its id is made of."""
    data = _given(schema, made)
    if not hasattr(schema, "make"):
        return data
    return schema.make(data, sent) if "original" in signature(schema.make).parameters else schema.make(data)


def _given(schema: Schema, made: BaseModel) -> dict[str, Any]:
    names = made.model_fields_set | {n for n, f in schema.load_fields.items() if f.load_default is not missing}
    return {schema.load_fields[name].attribute or name: getattr(made, name) for name in names}


def _serve(app: FastAPI, operation: Any) -> None:
    model: Any = model_of(operation.request)

    async def answered(body: model) -> Response:  # on the loop itself, faster than by way of a thread
        given = _given(operation.request, body)
        answer, notes = Answer(given["units"]), Notes()
        asked = {name: value for name, value in given.items() if name not in COMMON}
        result = operation.view(asked, answer, notes)
        labels = {"labels": given["labels"]} if "labels" in given else {}
        return Response(orjson.dumps(answer.envelope(notes, {**labels, **result})), media_type="application/json")

    app.post(operation.path)(answered)


app = FastAPI(openapi_url=None)
for each in (*carbonation.OPERATIONS, *prep_sheet.OPERATIONS):
    if each.operation_id in ("createSetPoints", "createPrepSheet"):
        _serve(app, each)


@app.get("/readyz")
async def ready() -> dict[str, str]:
    return {"status": "ready"}

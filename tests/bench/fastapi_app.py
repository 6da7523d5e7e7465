"""The same core behind FastAPI and pydantic, to know what the stack costs. Never shipped.

Models are made of the fields that the service's own requests are loaded by, so that both check the same; rules across
fields are left out. The answer is written by orjson, without a model of its own, metrics, logs, keys or problem
documents: this is FastAPI at its best.
"""

from collections.abc import Callable
from typing import Annotated, Any, Literal

import orjson
from fastapi import FastAPI, Response
from marshmallow import Schema, fields
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StrictBool, WrapValidator, create_model

from service.api import carbonation, prep_sheets
from service.api.answers import Answer
from service.api.endpoint import Operation
from service.api.endpoint.serving import enveloped
from service.api.quantities import Choice, Flag, Number, QuantityField, Text, Whole
from service.api.wire import Items, Object
from service.declared import AS_SENT, members
from service.notes import Notes

STRICT = ConfigDict(extra="forbid", protected_namespaces=(), allow_inf_nan=False)
_MODELS: dict[Any, type[BaseModel]] = {}


def model_of(schema: Schema) -> type[BaseModel]:
    """The pydantic model of a request or of a part of one; what may be left out is as its dataclass has it."""
    kind = type(schema)
    if kind not in _MODELS:
        typed: dict[str, Any] = {
            name: (_typed(field), ... if field.required else None) for name, field in schema.load_fields.items()
        }
        _MODELS[kind] = create_model(kind.__name__, __config__=STRICT, **typed)
    return _MODELS[kind]


def core_of(shape: Any, schema: Schema) -> Callable[[BaseModel, Any], Any]:
    """Return the function that makes the dataclass from a model, and from the sent object where it keeps that."""
    names = {name: field.attribute or name for name, field in schema.load_fields.items()}
    as_sent = next((one.name for one in members(shape) if AS_SENT in one.markers), None)

    def core(made: BaseModel, sent: Any) -> Any:
        found = {names[name]: getattr(made, name) for name in made.model_fields_set}
        return shape(**found) if as_sent is None else shape(**found, **{as_sent: sent})

    return core


def _typed(field: Any) -> Any:
    if isinstance(field, Object):
        core = core_of(field.shape, field.schema)
        return Annotated[model_of(field.schema), WrapValidator(lambda sent, validated: core(validated(sent), sent))]
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


def _serve(app: FastAPI, operation: Operation[Any, Any]) -> None:
    model: Any = model_of(operation.schema)
    core = core_of(operation.request, operation.schema)

    async def answered(body: model) -> Response:  # on the loop itself, faster than by way of a thread
        asked = core(body, None)
        answer, notes = Answer(asked.system), Notes()
        found = operation.write(operation.view(asked, notes), answer)
        sent = enveloped(operation, asked, answer, notes, found)
        return Response(orjson.dumps(sent), media_type="application/json")

    app.post(operation.path)(answered)


app = FastAPI(openapi_url=None)
for each in (*carbonation.OPERATIONS, *prep_sheets.OPERATIONS):
    if each.operation_id in ("createSetPoints", "createPrepSheet"):
        _serve(app, each)


@app.get("/readyz")
@app.post("/")
async def ready() -> dict[str, str]:
    """Answer a constant: by GET once the server is up, by POST to tell what FastAPI alone costs."""
    return {"status": "ready"}

"""The OpenAPI 3.1 document, built from the operations and their schemas. `python -m service.api.openapi` prints it."""

import json
import warnings
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Flask, Response
from marshmallow import fields

from service.api.endpoint import ExactlyOne, Operation
from service.api.openapi import fixed
from service.api.openapi.paths import example, post
from service.api.quantities import quantity_components
from service.api.shapes import Items

__all__ = ["document", "example", "init_app", "render"]


def _name(schema: Any) -> str:
    cls = schema if isinstance(schema, type) else type(schema)
    return str(cls.__name__).removesuffix("Schema")


def _properties(self: Any, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
    """Our fields describe themselves."""
    describe = getattr(field, "openapi", dict)
    return dict(describe())


def _lists(self: Any, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
    if isinstance(field, Items):
        return field.bounds()
    return {"maxItems": 1000} if isinstance(field, fields.List) else {}


def document(operations: tuple[Operation, ...]) -> dict[str, Any]:
    """The whole document as a dictionary."""
    plugin = MarshmallowPlugin(schema_name_resolver=_name)
    spec = APISpec(plugins=[plugin], **fixed.HEAD)
    converter: Any = plugin.converter
    converter.add_attribute_function(_properties)
    converter.add_attribute_function(_lists)
    _add_fixed(spec)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Only explicitly-declared fields|.*could not be mapped")
        for operation in operations:
            spec.path(path=operation.path, operations={"post": post(operation)})
    found: dict[str, Any] = spec.to_dict()
    _mark_choices(found, plugin)
    return found


def _add_fixed(spec: APISpec) -> None:
    for name, schema in (quantity_components() | fixed.PROBLEM_SCHEMAS).items():
        spec.components.schema(name, schema)
    for name, (status, text) in fixed.PROBLEM_RESPONSES.items():
        spec.components.response(name, fixed.problem_response(status, text))
    spec.components.header("RequestId", fixed.REQUEST_ID)
    spec.components.security_scheme("key", fixed.KEY)
    for path, item in fixed.SERVICE_PATHS.items():
        spec.path(path=path, operations=item)


def _mark_choices(found: dict[str, Any], plugin: MarshmallowPlugin) -> None:
    """Choices are objects of exactly one property; apispec does not know."""
    assert plugin.converter is not None
    for (schema, *_), name in plugin.converter.refs.items():
        if isinstance(schema, type) and issubclass(schema, ExactlyOne):
            found["components"]["schemas"][name].update(minProperties=1, maxProperties=1)


def init_app(app: Flask, operations: tuple[Operation, ...]) -> None:
    """Serve the document."""
    text = render(operations)

    @app.get("/openapi.json")
    def openapi_document() -> Response:
        return Response(text, mimetype="application/json")


def render(operations: tuple[Operation, ...]) -> str:
    """The document as it is committed: stable, indented, ending in a line feed."""
    return json.dumps(document(operations), indent=1, ensure_ascii=False) + "\n"

"""The OpenAPI 3.1 document, built from the operations and their schemas. `python -m service.api.openapi` prints it."""

import json
import warnings
from pathlib import Path
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Flask, Response
from marshmallow import fields

from service import MODEL
from service.api.endpoint import MEDIA_TYPES, ExactlyOne, Operation
from service.api.openapi import fixed
from service.api.quantities import quantity_components
from service.api.shapes import Items

EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"
TAGS = {
    "acid": "Acid solutions, weighed.",
    "batching": "One glass scaled to a batch.",
    "carbonation": "Pressures, charges and what is in the vessel.",
    "chilling": "Cold enough, not frozen.",
    "prep": "The whole job in the order of work.",
    "regas": "Holding the CO2 through a shift.",
    "service": "Probes, this document, and what the problems mean.",
}
DESCRIPTION = """The arithmetic behind force-carbonated batched drinks: how much of what, how cold, which gauge pressure
here, how many charges, when to re-gas. Stateless: the same request gives the same answer. Quantities are objects with a
value and a unit; estimates come as low, typical and high. This is arithmetic, not approval: makers' ratings, local
codes and competent persons decide."""


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
    spec = APISpec(
        title="Batch carbonation",
        version=MODEL,
        openapi_version="3.1.0",
        plugins=[plugin],
        info={
            "description": DESCRIPTION,
            "contact": {
                "name": "Batch carbonation service",
                "url": "https://example.com/batch-carbonation",
                "email": "service@example.com",
            },
            "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
        },
        servers=[
            {
                "url": "/",
                "description": "This deployment (production, staging or local), at its own root.",
                "x-internal": False,
            }
        ],
        tags=[{"name": name, "description": text} for name, text in sorted(TAGS.items())],
        security=[{"key": []}],
    )
    converter: Any = plugin.converter
    converter.add_attribute_function(_properties)
    converter.add_attribute_function(_lists)
    for name, schema in quantity_components().items():
        spec.components.schema(name, schema)
    _add_common(spec)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Only explicitly-declared fields|.*could not be mapped")
        for operation in operations:
            _add_operation(spec, operation)
    found: dict[str, Any] = spec.to_dict()
    _mark_choices(found, plugin)
    return found


def _add_common(spec: APISpec) -> None:
    spec.components.security_scheme(
        "key",
        {
            "type": "http",
            "scheme": "bearer",
            "description": "A key of this deployment. A deployment that runs with AUTH=open asks for none.",
        },
    )
    for name, schema in fixed.PROBLEM_SCHEMAS.items():
        spec.components.schema(name, schema)
    for name, (status, text) in fixed.PROBLEM_RESPONSES.items():
        headers: dict[str, Any] = {"X-Request-Id": {"$ref": "#/components/headers/RequestId"}}
        if status == 401:
            headers["WWW-Authenticate"] = {"description": "Bearer.", "schema": {"type": "string", "maxLength": 200}}
        spec.components.response(
            name,
            {
                "description": text,
                "headers": headers,
                "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
            },
        )
    spec.components.header(
        "RequestId",
        {
            "description": "Names this exchange in the logs; a caller may send its own.",
            "schema": {"type": "string", "maxLength": 64},
        },
    )
    for path, item in fixed.SERVICE_PATHS.items():
        spec.path(path=path, operations=item)


def _add_operation(spec: APISpec, operation: Operation) -> None:
    content: dict[str, Any] = {"application/json": {"schema": operation.answer}}
    for form in operation.forms:
        content[MEDIA_TYPES[form]] = {"schema": {"type": "string", "maxLength": 10_000_000}}
    parameters: list[dict[str, Any]] = [
        {
            "name": name,
            "in": "query",
            "required": False,
            "description": schema["description"],
            "schema": {k: v for k, v in schema.items() if k != "description"},
        }
        for name, schema in operation.query.items()
    ]
    if operation.forms:
        parameters.append(
            {
                "name": "format",
                "in": "query",
                "required": False,
                "description": "Overrides Accept.",
                "schema": {"type": "string", "enum": ["json", *operation.forms]},
            }
        )
    answers = {
        "200": {
            "description": "The answer.",
            "headers": {"X-Request-Id": {"$ref": "#/components/headers/RequestId"}},
            "content": content,
        },
        **{
            str(status): {"$ref": f"#/components/responses/{name}"}
            for name, (status, _) in fixed.PROBLEM_RESPONSES.items()
            if name != "NotFound"
        },
    }
    body = {
        "application/json": {
            "schema": type(operation.request),
            "examples": {"demo": {"value": example(operation.operation_id)}},
        }
    }
    spec.path(
        path=operation.path,
        operations={
            "post": {
                "operationId": operation.operation_id,
                "tags": [operation.tag],
                "summary": operation.summary,
                "description": operation.description,
                **({"parameters": parameters} if parameters else {}),
                "requestBody": {"required": True, "content": body},
                "responses": answers,
            }
        },
    )


def example(operation_id: str) -> Any:
    """The runnable example request of an operation."""
    name = "".join(f"-{c.lower()}" if c.isupper() else c for c in operation_id)
    return json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))


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

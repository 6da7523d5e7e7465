"""Operations as paths of the OpenAPI document."""

from inspect import cleandoc
from typing import Any

from service.api.endpoint import MEDIA_TYPES, Operation, Reference
from service.api.openapi import fixed, problem_types
from service.api.openapi.examples import answers, examples, kebab, of
from service.limits.requests import LARGEST_BODY


def post(operation: Operation[Any, Any]) -> dict[str, Any]:
    """What the document says of an operation."""
    parameters = _parameters(operation)
    shown = examples(operation.operation_id)
    schema = type(operation.schema) if operation.takes == "json" else _text(operation.request, LARGEST_BODY)
    body = {MEDIA_TYPES[operation.takes]: {"schema": schema, "examples": shown}}
    return {
        "operationId": operation.operation_id,
        "tags": [operation.tag],
        "summary": operation.summary,
        "description": operation.description,
        **({"parameters": parameters} if parameters else {}),
        "requestBody": {"required": True, "content": body},
        "responses": _responses(operation),
    }


def get(reference: Reference) -> dict[str, Any]:
    """Return what the document says of a reference."""
    headers = fixed.headers("ETag", "Cache-Control", "Content-Language")
    if reference.form == "json":
        shown = of(reference.body(), whole=f"GET {reference.path}", to="this request")
        media = {"schema": reference.schema, **shown}
    else:
        media = {"schema": _text(reference.answer, LARGEST_BODY), "examples": {"demo": {"value": reference.read()}}}
    refused = (name for name in problem_types.OF_REFERENCES if name != "Unauthorized" or not reference.open_to_all)
    return {
        "operationId": reference.operation_id,
        "tags": [reference.tag],
        "summary": reference.summary,
        "description": reference.description,
        **({"security": []} if reference.open_to_all else {}),
        "parameters": [fixed.IF_NONE_MATCH],
        "responses": {
            "200": {
                "description": "The table.",
                "headers": headers,
                "content": {MEDIA_TYPES[reference.form]: media},
            },
            "304": {"description": "Nothing changed since the ETag that was sent.", "headers": headers},
            **problem_types.references(tuple(refused)),
        },
    }


def _text(described: type, longest: int) -> dict[str, Any]:
    """Return the schema of a text, by the class that says what it is."""
    return {"type": "string", "maxLength": longest, "description": cleandoc(described.__doc__ or "").replace("\n", " ")}


def _parameters(operation: Operation[Any, Any]) -> list[dict[str, Any]]:
    stated = [
        _parameter(name, schema["description"], {k: v for k, v in schema.items() if k != "description"})
        for name, schema in operation.query.items()
    ]
    if not operation.further_forms:
        return stated
    forms = {"type": "string", "enum": ["json", *operation.further_forms]}
    return [*stated, _parameter("format", "Overrides Accept.", forms)]


def _parameter(name: str, description: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def _responses(operation: Operation[Any, Any]) -> dict[str, Any]:
    shown = answers(kebab(operation.operation_id))
    content: dict[str, Any] = {
        MEDIA_TYPES["json"]: {
            "schema": operation.envelope,
            **shown,
        }
    }
    for form in operation.forms:
        described = {"type": "string", "maxLength": 10_000_000, "description": fixed.FORMS[form]}
        content[MEDIA_TYPES[form]] = {"schema": described}
    for form in operation.streams:
        described = {"type": "string", "maxLength": 100_000_000, "description": fixed.STREAMS[form]}
        content[MEDIA_TYPES[form]] = {"schema": described}
    names = ["Cache-Control", "Content-Language"]
    names += ["Vary"]
    names += ["Content-Security-Policy"] if "html" in operation.forms else []
    answer = {"description": "The answer.", "headers": fixed.headers(*names), "content": content}
    return {"200": answer, **problem_types.references(problem_types.OF_OPERATIONS)}

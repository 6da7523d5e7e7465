"""Operations as paths of the OpenAPI document."""

import json
from pathlib import Path
from typing import Any

from service.api.endpoint import MEDIA_TYPES, Operation
from service.api.openapi import fixed

EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"


def post(operation: Operation) -> dict[str, Any]:
    """What the document says of an operation."""
    parameters = _parameters(operation)
    examples = {"demo": {"value": example(operation.operation_id)}}
    body = {"application/json": {"schema": type(operation.request), "examples": examples}}
    return {
        "operationId": operation.operation_id,
        "tags": [operation.tag],
        "summary": operation.summary,
        "description": operation.description,
        **({"parameters": parameters} if parameters else {}),
        "requestBody": {"required": True, "content": body},
        "responses": _responses(operation),
    }


def _parameters(operation: Operation) -> list[dict[str, Any]]:
    stated = [
        _parameter(name, schema["description"], {k: v for k, v in schema.items() if k != "description"})
        for name, schema in operation.query.items()
    ]
    if not operation.forms:
        return stated
    forms = {"type": "string", "enum": ["json", *operation.forms]}
    return [*stated, _parameter("format", "Overrides Accept.", forms)]


def _parameter(name: str, description: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def _responses(operation: Operation) -> dict[str, Any]:
    content: dict[str, Any] = {MEDIA_TYPES["json"]: {"schema": operation.answer}}
    for form in operation.forms:
        content[MEDIA_TYPES[form]] = {"schema": {"type": "string", "maxLength": 10_000_000}}
    problems = {
        str(status): {"$ref": f"#/components/responses/{name}"}
        for name, (status, _) in fixed.PROBLEM_RESPONSES.items()
        if name != "NotFound"
    }
    return {"200": {"description": "The answer.", "headers": fixed.HEADERS, "content": content}, **problems}


def example(operation_id: str) -> Any:
    """The runnable example request of an operation."""
    name = "".join(f"-{c.lower()}" if c.isupper() else c for c in operation_id)
    return json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))

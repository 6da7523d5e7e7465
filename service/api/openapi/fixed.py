"""Parts of the OpenAPI document that no schema declares: problems, probes and the document itself."""

from typing import Any

from service.api import problems

_STRING = {"type": "string", "maxLength": 4000}
PROBLEM_SCHEMAS: dict[str, dict[str, Any]] = {
    "ProblemError": {
        "type": "object",
        "description": "One fault: where it is and what it is.",
        "required": ["in", "pointer", "code", "text"],
        "properties": {
            "in": {"type": "string", "enum": ["body", "query", "header"]},
            "pointer": _STRING,
            "code": _STRING,
            "text": _STRING,
        },
    },
    "ProblemFact": {
        "type": "object",
        "description": "A number that a refusal rests on.",
        "required": ["name", "value"],
        "properties": {
            "name": _STRING,
            "value": {"type": "number", "minimum": -1e12, "maximum": 1e12},
            "unit": _STRING,
        },
    },
    "ProblemNearest": {
        "type": "object",
        "description": "Put the value at the pointer and post again: this refusal is gone.",
        "required": ["pointer", "value"],
        "properties": {"pointer": _STRING, "value": {"description": "Any JSON value."}},
    },
    "Problem": {
        "type": "object",
        "description": "RFC 9457 problem document.",
        "required": ["type", "title", "status", "detail", "request_id", "errors"],
        "properties": {
            "type": {"type": "string", "maxLength": 200, "description": "GET it: it explains the problem type."},
            "title": _STRING,
            "status": {"type": "integer", "format": "int32", "minimum": 400, "maximum": 599},
            "detail": {"type": "string", "maxLength": 100_000},
            "request_id": {"type": "string", "maxLength": 64},
            "errors": {"type": "array", "maxItems": 1000, "items": {"$ref": "#/components/schemas/ProblemError"}},
            "facts": {"type": "array", "maxItems": 1000, "items": {"$ref": "#/components/schemas/ProblemFact"}},
            "nearest": {"type": "array", "maxItems": 1000, "items": {"$ref": "#/components/schemas/ProblemNearest"}},
            "available": {"type": "array", "maxItems": 10, "items": {"type": "string", "maxLength": 40}},
        },
    },
    "ProblemType": {
        "type": "object",
        "description": "What a problem type means.",
        "required": ["model", "slug", "title", "status", "explanation"],
        "properties": {
            "model": _STRING,
            "slug": _STRING,
            "title": _STRING,
            "status": {"type": "integer", "format": "int32", "minimum": 400, "maximum": 599},
            "explanation": _STRING,
        },
    },
    "Probe": {
        "type": "object",
        "description": "State of the service.",
        "required": ["status", "model"],
        "properties": {"status": {"type": "string", "maxLength": 20}, "model": {"type": "string", "maxLength": 40}},
    },
}
PROBLEM_RESPONSES = {
    "BadRequest": (400, "The body is not JSON, or a query parameter is wrong."),
    "Unauthorized": (401, "No valid key."),
    "NotFound": (404, "Nothing of that name."),
    "NotAcceptable": (406, "No such form of the answer."),
    "BodyTooLarge": (413, "The body is over 1 MiB."),
    "UnsupportedMediaType": (415, "The body is not plain application/json."),
    "Unprocessable": (
        422,
        "A field is not valid, or physics or safety forbids it; errors, facts and nearest say what and why.",
    ),
    "Internal": (500, "A fault of the service."),
}


def _service_operation(
    operation_id: str, summary: str, schema: dict[str, Any], *, parameters: Any = None, more: Any = None
) -> dict[str, Any]:
    return {
        "get": {
            "operationId": operation_id,
            "tags": ["service"],
            "summary": summary,
            "description": summary,
            "security": [],
            **({"parameters": parameters} if parameters else {}),
            "responses": {
                "200": {"description": summary, "content": {"application/json": {"schema": schema}}},
                **(more or {"400": {"$ref": "#/components/responses/BadRequest"}}),
                "500": {"$ref": "#/components/responses/Internal"},
            },
        }
    }


SERVICE_PATHS = {
    "/healthz": _service_operation("getHealth", "The process is alive.", {"$ref": "#/components/schemas/Probe"}),
    "/readyz": _service_operation(
        "getReadiness",
        "The service can answer: a known set-point was computed and is right.",
        {"$ref": "#/components/schemas/Probe"},
    ),
    "/openapi.json": _service_operation(
        "getOpenapi", "This document.", {"type": "object", "description": "An OpenAPI 3.1 document."}
    ),
    "/problems/{slug}": _service_operation(
        "getProblemType",
        "What a problem type means.",
        {"$ref": "#/components/schemas/ProblemType"},
        parameters=[
            {
                "name": "slug",
                "in": "path",
                "required": True,
                "description": "Last part of a problem's type.",
                "schema": {"type": "string", "enum": sorted(problems.TYPES)},
                "example": "over-vessel-limit",
            }
        ],
        more={"404": {"$ref": "#/components/responses/NotFound"}},
    ),
}

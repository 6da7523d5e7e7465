"""Parts of the OpenAPI document that no schema declares: its head, problems, probes and the document itself."""

from typing import Any

from service import MODEL
from service.api import problems
from service.api.quantities import NUMBER

DESCRIPTION = """The arithmetic behind force-carbonated batched drinks: how much of what, how cold, which gauge pressure
here, how many charges, when to re-gas. Stateless: the same request gives the same answer. Quantities are objects with a
value and a unit; estimates come as low, typical and high. This is arithmetic, not approval: makers' ratings, local
codes and competent persons decide."""
TAGS = {
    "acid": "Acid solutions, weighed.",
    "batching": "One glass scaled to a batch.",
    "carbonation": "Pressures, charges and what is in the vessel.",
    "chilling": "Cold enough, not frozen.",
    "prep": "The whole job in the order of work.",
    "regas": "Holding the CO2 through a shift.",
    "service": "Probes, this document, and what the problems mean.",
}
HEAD: dict[str, Any] = {
    "title": "Batch carbonation",
    "version": MODEL,
    "openapi_version": "3.1.0",
    "info": {
        "description": DESCRIPTION,
        "contact": {
            "name": "Batch carbonation service",
            "url": "https://example.com/batch-carbonation",
            "email": "service@example.com",
        },
        "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
    },
    "servers": [
        {
            "url": "/",
            "description": "This deployment (production, staging or local), at its own root.",
            "x-internal": False,
        }
    ],
    "tags": [{"name": name, "description": text} for name, text in TAGS.items()],
    "security": [{"key": []}],
}
KEY = {
    "type": "http",
    "scheme": "bearer",
    "description": "A key of this deployment. A deployment that runs with AUTH=open asks for none.",
}
REQUEST_ID = {
    "description": "Names this exchange in the logs; a caller may send its own.",
    "schema": {"type": "string", "maxLength": 64},
}
HEADERS = {"X-Request-Id": {"$ref": "#/components/headers/RequestId"}}

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
            "value": NUMBER,
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


def problem_response(status: int, text: str) -> dict[str, Any]:
    """A problem document as an answer."""
    headers: dict[str, Any] = dict(HEADERS)
    if status == 401:
        headers["WWW-Authenticate"] = {"description": "Bearer.", "schema": {"type": "string", "maxLength": 200}}
    schema = {"$ref": "#/components/schemas/Problem"}
    return {"description": text, "headers": headers, "content": {"application/problem+json": {"schema": schema}}}


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

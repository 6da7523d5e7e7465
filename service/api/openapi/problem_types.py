"""Problems in the OpenAPI document: their shape, the statuses they come with, and the list of their types."""

from dataclasses import dataclass
from typing import Any

from service.api import problems
from service.api.openapi.paths import problem
from service.api.quantities import NUMBER

MEDIA = "application/problem+json"
_STRING = {"type": "string", "maxLength": 4000}
_PARAMS = {"type": "array", "maxItems": 100, "items": {"$ref": "#/components/schemas/SentenceParameter"}}
_STATUS = {"type": "integer", "format": "int32", "minimum": 400, "maximum": 599}
SCHEMAS: dict[str, dict[str, Any]] = {
    "ProblemError": {
        "type": "object",
        "description": "One fault: where it is and what it is.",
        "required": ["in", "pointer", "code", "text"],
        "properties": {
            "in": {"type": "string", "enum": ["body", "query", "header"]},
            "pointer": {**_STRING, "description": "JSON Pointer (RFC 6901) into the request; empty for the whole."},
            "code": {**_STRING, "description": "Kebab case. New codes may come."},
            "text": _STRING,
            "params": {**_PARAMS, "description": "The values in the text, and nearest of unknown-field."},
        },
    },
    "ProblemOffer": {
        "type": "object",
        "description": "One of several ways out, tried alone: with all of its nearest put in, the request is answered.",
        "required": ["code", "text", "params", "nearest"],
        "properties": {
            "code": {**_STRING, "description": "Kebab case. New codes may come."},
            "text": _STRING,
            "params": _PARAMS,
            "nearest": {"type": "array", "maxItems": 1000, "items": {"$ref": "#/components/schemas/ProblemNearest"}},
        },
    },
    "ProblemFact": {
        "type": "object",
        "description": "A number that a refusal rests on.",
        "required": ["name", "value"],
        "properties": {"name": _STRING, "value": NUMBER, "unit": _STRING},
    },
    "ProblemNearest": {
        "type": "object",
        "description": "Put the value at the pointer; with all of nearest put in, the request is answered.",
        "required": ["pointer", "value"],
        "properties": {"pointer": _STRING, "value": {"description": "Any JSON value."}},
    },
    "Problem": {
        "type": "object",
        "description": "RFC 9457 problem document.",
        "required": ["type", "title", "status", "detail", "request_id", "errors"],
        "properties": {
            "type": {
                "type": "string",
                "maxLength": 200,
                "description": "GET it: it explains the problem type. New types may come.",
                "examples": [f"/problems/{slug}" for slug in sorted(problems.TYPES)],
            },
            "title": _STRING,
            "status": _STATUS,
            "detail": {"type": "string", "maxLength": 100_000},
            "request_id": {"type": "string", "maxLength": 64},
            "errors": {"type": "array", "maxItems": 1000, "items": {"$ref": "#/components/schemas/ProblemError"}},
            "facts": {"type": "array", "maxItems": 1000, "items": {"$ref": "#/components/schemas/ProblemFact"}},
            "nearest": {"type": "array", "maxItems": 1000, "items": {"$ref": "#/components/schemas/ProblemNearest"}},
            "offers": {
                "type": "array",
                "maxItems": 20,
                "description": "Alternatives, the first of which is nearest; none states a fact for the caller.",
                "items": {"$ref": "#/components/schemas/ProblemOffer"},
            },
            "available": {
                "type": "array",
                "maxItems": 10,
                "description": "Model versions that this deployment has.",
                "items": {"type": "string", "maxLength": 40},
            },
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
            "status": _STATUS,
            "explanation": _STRING,
        },
    },
}


@dataclass(frozen=True)
class Response:
    """One response of the document.

    types: those of which it shows an example
    headers: beside those of every problem
    """

    status: int
    text: str
    types: tuple[str, ...]
    headers: tuple[str, ...] = ()


RESPONSES = {
    "BadRequest": Response(
        400,
        "The body is not JSON or no table, a query parameter is wrong, or it is no HTTP.",
        ("invalid-json", "invalid-csv", "invalid-query", "bad-request"),
    ),
    "Unauthorized": Response(401, "No valid key.", ("unauthorized",), ("WWW-Authenticate",)),
    "NotFound": Response(404, "Nothing of that name.", ("not-found",)),
    "NotAcceptable": Response(406, "No such form of the answer.", ("not-acceptable",)),
    "PreconditionFailed": Response(412, "If-Match names no ETag of the table.", ("precondition-failed",)),
    "BodyTooLarge": Response(413, "The body is over 1 MiB.", ("body-too-large",)),
    "UnsupportedMediaType": Response(
        415, "The body is not plain application/json, or text/csv where that is asked for.", ("unsupported-media-type",)
    ),
    "Unprocessable": Response(
        422,
        "A field is not valid, or physics or safety forbids it; errors, facts and nearest say what and why.",
        ("invalid-request", "model-not-available", "over-vessel-limit"),
    ),
    "TooManyRequests": Response(
        429, "The proxy lets one address or key ask for no more just now.", ("too-many-requests",), ("Retry-After",)
    ),
    "Internal": Response(500, "A fault of the service.", ("internal",)),
    "Unavailable": Response(
        503,
        "Too much is asked for just now, or no process answered; any request may be sent again.",
        ("unavailable",),
        ("Retry-After",),
    ),
}
ALWAYS = ("TooManyRequests", "Internal", "Unavailable")
"""Responses that any request may meet."""
OF_REFERENCES = ("BadRequest", "Unauthorized", "NotAcceptable", "PreconditionFailed", *ALWAYS)
OF_OPERATIONS = tuple(name for name in RESPONSES if name not in ("NotFound", "PreconditionFailed"))


def response(name: str, headers: dict[str, Any]) -> dict[str, Any]:
    """Return the component of a response, with an example of each of its types and all of them named."""
    shown = RESPONSES[name]
    found = sorted(slug for slug, of in problems.TYPES.items() if of.status == shown.status)
    content: dict[str, Any] = {"schema": {"$ref": "#/components/schemas/Problem"}}
    examples = {slug: example for slug in shown.types for example in problem(slug)}
    return {
        "description": f"{shown.text} Types: {', '.join(found)}.",
        "headers": headers | {header: {"$ref": f"#/components/headers/{header}"} for header in shown.headers},
        "content": {MEDIA: {**content, **({"examples": examples} if examples else {})}},
    }


def references(names: tuple[str, ...]) -> dict[str, Any]:
    """Return the responses of an operation by their status."""
    return {str(RESPONSES[name].status): {"$ref": f"#/components/responses/{name}"} for name in names}


def table() -> str:
    """Return a table of every type, in Markdown."""
    rows = (f"| `{slug}` | {of.status} | {of.title}. {of.explanation} |" for slug, of in sorted(problems.TYPES.items()))
    return "\n".join(["| Type | Status | Meaning |", "|---|---|---|", *rows])


def problem_type_example(slug: str) -> dict[str, Any]:
    """Return the answer of GET /problems/{slug} as an example."""
    return {"examples": {"demo": {"value": problems.explain_problem(slug)}}}

"""Parts of the OpenAPI document that no schema declares: its head, problems, probes and the document itself."""

from collections.abc import Mapping
from typing import Any

from service import MODEL
from service.api import problems
from service.api.endpoint.kept import LONGEST_TAGS
from service.api.endpoint.omission import OMITTED
from service.api.openapi import problem_types

DESCRIPTION = """The arithmetic behind force-carbonated batched drinks: how much of what, how cold, which gauge pressure
here, how many charges, when to re-gas. Stateless: the same request gives the same answer. Quantities are objects with a
value and a unit; estimates come as low, typical and high. This is arithmetic, not approval: makers' ratings, local
codes and competent persons decide."""
TAGS = {
    "batching": "One glass scaled to a batch.",
    "acid": "Acids: solutions, adjustments, equivalents, doses.",
    "chilling": "Cold enough, not frozen.",
    "carbonation": "Pressures, charges and what is in the vessel.",
    "regas": "Holding the CO2 through a shift.",
    "draught": "From the keg to the tap.",
    "prep": "The whole job in the order of work.",
    "evening": "Several drinks, from covers to the first pour.",
    "reconciliations": "What was made against what was sold and what is left.",
    "rollouts": "One spec at many venues.",
    "references": "What the service computes with: tables with their sources.",
    "service": "Probes, this document, and what the problems mean.",
}
"""In the order of the job, which the API page keeps."""
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
        "license": {"name": "Apache-2.0", "url": "https://www.apache.org/licenses/LICENSE-2.0"},
    },
    "servers": [
        {
            "url": "/",
            "description": "This deployment (production, staging or local), at its own root.",
            "x-internal": False,
        }
    ],
    "externalDocs": {"url": "/guide", "description": "The integrator's guide."},
    "tags": [{"name": name, "description": text} for name, text in TAGS.items()],
    "security": [{"key": []}],
}
KEY = {
    "type": "http",
    "scheme": "bearer",
    "description": "A key of this deployment. A deployment that runs with AUTH=open asks for none.",
}
_SHORT = {"type": "string", "maxLength": 100}
HEADER_COMPONENTS = {
    "X-Request-Id": {
        "description": "Names this exchange in the logs. A caller may send its own: 1 to 64 letters, digits, dots, "
        "underscores and hyphens.",
        "schema": {"type": "string", "minLength": 1, "maxLength": 64, "pattern": "^[A-Za-z0-9._-]+$"},
    },
    "Access-Control-Allow-Origin": {
        "description": "Only where the deployment lets pages of the caller's origin ask.",
        "schema": {"type": "string", "maxLength": 200},
    },
    "WWW-Authenticate": {"description": "Bearer, with a realm.", "schema": {"type": "string", "maxLength": 200}},
    "Retry-After": {
        "description": "Whole seconds to wait before asking again.",
        "schema": {"type": "integer", "format": "int32", "minimum": 0, "maximum": 86_400},
    },
    "Cache-Control": {
        "description": "no-store for what was computed or refused; a table says how long a copy may be used unasked.",
        "schema": _SHORT,
    },
    "Content-Language": {"description": "Of the sentences: en, es, fr or de.", "schema": _SHORT},
    "Vary": {
        "description": "Accept-Language; Accept, where the answer has several forms; Origin, where pages may ask.",
        "schema": _SHORT,
    },
    "ETag": {"description": "Names this very body; send it back as If-None-Match.", "schema": _SHORT},
    "Content-Security-Policy": {
        "description": "Of the HTML form: no script, nothing from elsewhere, the style that stands in the page.",
        "schema": {"type": "string", "maxLength": 1000},
    },
}


def headers(*names: str) -> dict[str, Any]:
    """Return the headers of a response, beside those that every one may have."""
    every = ("X-Request-Id", "Access-Control-Allow-Origin")
    return {name: {"$ref": f"#/components/headers/{name}"} for name in (*every, *names)}


OF_PROBLEMS = ("Cache-Control", "Content-Language")
IF_NONE_MATCH = {
    "name": "If-None-Match",
    "in": "header",
    "required": False,
    "description": "ETag of a copy at hand; if it still holds, the answer is 304 and empty.",
    "schema": {"type": "string", "maxLength": LONGEST_TAGS},
}
OMIT = {
    "name": "omit",
    "in": "query",
    "required": False,
    "description": "Lists that the JSON forms are sent without, each of them empty then. Cautions of severity danger, "
    "no-room-for-error, cautions of steps, assumptions that a limit is judged by, problems and safety stay whole.",
    "style": "form",
    "explode": False,
    "schema": {
        "type": "array",
        "minItems": 1,
        "maxItems": len(OMITTED),
        "uniqueItems": True,
        "items": {"type": "string", "enum": list(OMITTED)},
    },
    "example": list(OMITTED),
}
_OF_KEPT = ("ETag", "Cache-Control", "Content-Language")
"""Headers of what is the same until the service changes."""
UNCHANGED = {"description": "Nothing changed since the ETag that was sent.", "headers": headers(*_OF_KEPT)}
FORMS = {
    "html": "Pages to print, without a script.",
    "text": "Narrow text for a printer; see columns and charset.",
    "csv": "RFC 4180, with a header: section, item, quantity, value, low, typical, high, unit, text. A row for each "
    "figure and each text of the JSON answer, in its order; numbers are never rounded. A text that a spreadsheet would "
    "take for a formula has an apostrophe in front.",
    "svg": "A plot, without a script.",
    "ndjson": "A line of JSON for each item.",
    "ics": "The same as a calendar, RFC 5545.",
}
"""The forms of an answer beside JSON, in words."""
STREAMS = {
    "ndjson": "Sent while it is computed: a line of JSON for each site, as in the JSON answer, with kind: site; the "
    "last line has kind: end, the number of sites and how many of them are refused, and all that the JSON answer holds "
    "beside its sites. A stream without that line was cut off.",
    "csv": "Sent while it is computed: RFC 4180 with a header, a row for each kind of vessel of each site, as its "
    "columns say; numbers are never rounded. A text that a spreadsheet would take for a formula has an apostrophe in "
    "front.",
}
"""The forms that are sent part by part, in words."""
PROBE = {
    "type": "object",
    "description": "State of the service.",
    "required": ["status", "model"],
    "properties": {"status": {"type": "string", "maxLength": 20}, "model": {"type": "string", "maxLength": 40}},
}


def _service_operation(
    operation_id: str,
    summary: str,
    media: dict[str, Any],
    *,
    fails: tuple[str, ...] = (),
    sent: tuple[str, ...] = (),
    others: Mapping[str, Any] | None = None,
    **more: Any,
) -> dict[str, Any]:
    """Return a path of the service itself.

    sent: headers of its answer; others: responses beside its answer and problems
    """
    answer = {"description": summary, "headers": headers(*sent), "content": {"application/json": media}}
    refused = problem_types.references(("BadRequest", *fails, *problem_types.ALWAYS))
    return {
        "get": {
            "operationId": operation_id,
            "tags": ["service"],
            "summary": summary,
            "description": summary,
            "security": [],
            **more,
            "responses": {"200": answer, **(others or {}), **refused},
        }
    }


def _probe(status: str) -> dict[str, Any]:
    examples = {"demo": {"value": {"status": status, "model": MODEL}}}
    return {"schema": {"$ref": "#/components/schemas/Probe"}, "examples": examples}


_SLUG = {
    "name": "slug",
    "in": "path",
    "required": True,
    "description": "Last part of a problem's type.",
    "schema": {"type": "string", "enum": sorted(problems.TYPES)},
    "example": "over-vessel-limit",
}
SERVICE_PATHS = {
    "/healthz": _service_operation("getHealth", "The process is alive.", _probe("alive")),
    "/readyz": _service_operation(
        "getReadiness", "The service can answer: a known set-point was computed and is right.", _probe("ready")
    ),
    "/openapi.json": _service_operation(
        "getOpenapi",
        "This document.",
        {"schema": {"type": "object", "description": "An OpenAPI 3.1 document."}},
        fails=("PreconditionFailed",),
        sent=_OF_KEPT,
        others={"304": UNCHANGED},
        parameters=[IF_NONE_MATCH],
    ),
    "/problems/{slug}": _service_operation(
        "getProblemType",
        "What a problem type means.",
        {
            "schema": {"$ref": "#/components/schemas/ProblemType"},
            **problem_types.problem_type_example("over-vessel-limit"),
        },
        fails=("NotFound",),
        description=f"What a problem type means. These are all that there are today:\n\n{problem_types.table()}",
        parameters=[_SLUG],
    ),
}

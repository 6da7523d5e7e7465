"""The form that the answer is to have, the query parameters, and the form that a body must have."""

from collections.abc import Iterator
from typing import Any

from flask import request
from werkzeug.datastructures import MIMEAccept

from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation, Reference
from service.api.problems import TYPES, RequestProblem

OF_TEXT = ("columns", "charset", "station")
"""Query parameters that mean something for the text form alone."""


_TAKES_JSON = (None, "*/*", MEDIA_TYPES["json"])
"""What most callers accept; JSON comes first in what is offered."""


def negotiate(operation: Operation[Any, Any] | Reference) -> tuple[str, dict[str, str]]:
    """The form to answer in, and the query parameters.

    raises: RequestProblem 400 for a parameter that is unknown or wrong, 406 for a form that does not exist
    """
    offered = ("json", *operation.further_forms)
    query = request.args.to_dict() if request.query_string else {}
    wrong = [
        _query_fault(name, "unknown-parameter", "Unknown parameter.")
        for name in query
        if name != "format" and name not in operation.query
    ]
    if "format" in query:
        form = query["format"]
        if form not in offered:
            raise RequestProblem("not-acceptable", f"This operation answers as: {', '.join(offered)}.")
    else:
        form = "json" if request.headers.get("Accept") in _TAKES_JSON else _best(request.accept_mimetypes, offered)
    if form != "text":
        wrong += [
            _query_fault(name, "needs-text", f"Only the text form has {name}.") for name in OF_TEXT if name in query
        ]
    wrong += [
        fault
        for name, schema in operation.query.items()
        if name in query
        for fault in _faults(name, query[name], schema)
    ]
    if wrong:
        raise RequestProblem("invalid-query", "The query is not valid.", errors=wrong)
    return form, query


def _faults(name: str, text: str, schema: Body) -> Iterator[Body]:
    """A parameter is one of a list of words, or a whole number."""
    if "enum" in schema:
        if text not in schema["enum"]:
            yield _query_fault(name, "not-a-choice", f"Must be one of: {', '.join(schema['enum'])}.")
        return
    low, high = schema["minimum"], schema["maximum"]
    if not (text.isascii() and text.isdigit() and len(text) < 9 and low <= int(text) <= high):
        yield _query_fault(name, "out-of-range", f"Must be a whole number from {low} to {high}.")


def _query_fault(name: str, code: str, text: str) -> Body:
    return {"in": "query", "pointer": f"/{name}", "code": code, "text": text}


def _best(accept: MIMEAccept, offered: tuple[str, ...]) -> str:
    if not accept:
        return "json"
    types = [MEDIA_TYPES[form] for form in offered]
    accept = MIMEAccept([(media.partition(";")[0].strip(), q) for media, q in accept])  # charset and the like
    quality = {form: accept.quality(media) for form, media in zip(offered, types, strict=True)}
    best = max(offered, key=lambda form: quality[form])  # the first of equals, and JSON is listed first
    if quality[best] <= 0:
        raise RequestProblem("not-acceptable", f"This operation answers as: {', '.join(types)}.")
    return best


def check_media_type() -> None:
    """A body is one plain application/json document.

    raises: RequestProblem 415
    """
    if request.mimetype != "application/json" or request.content_encoding:
        raise RequestProblem("unsupported-media-type", TYPES["unsupported-media-type"].explanation)

"""Read a request: the form that its answer is to have, its query, and its body as the core objects that it names."""

import json
from collections import Counter
from collections.abc import Iterator
from typing import Any

import orjson
from flask import request
from marshmallow import Schema, ValidationError
from werkzeug.datastructures import MIMEAccept

from service import MODEL
from service.api import problems
from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation, Reference
from service.api.problems import TYPES, RequestProblem
from service.limits.requests import DEEPEST, MOST_FAULTS

OF_TEXT = ("columns", "charset", "station")
"""Query parameters of the text form alone."""


def negotiate(operation: Operation[Any, Any] | Reference) -> tuple[str, dict[str, str]]:
    """Choose the form to answer in, and read the query parameters.

    raises: RequestProblem 400 for a parameter that is unknown or wrong, 406 for a form that does not exist
    """
    offered = operation.offered
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
        most_accept = (None, "*/*", MEDIA_TYPES[offered[0]])
        form = offered[0] if request.headers.get("Accept") in most_accept else _best(request.accept_mimetypes, offered)
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
    """Yield the faults of a parameter, which is one of a list of words, or a whole number."""
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
        return offered[0]
    types = [MEDIA_TYPES[form] for form in offered]
    accept = MIMEAccept([(media.partition(";")[0].strip(), q) for media, q in accept])  # charset and the like
    quality = {form: accept.quality(media) for form, media in zip(offered, types, strict=True)}
    best = max(offered, key=lambda form: quality[form])  # the first of equals, and JSON is listed first
    if quality[best] <= 0:
        raise RequestProblem("not-acceptable", f"This operation answers as: {', '.join(types)}.")
    return best


def check_media_type(form: str) -> None:
    """Refuse a body that is not one plain document of the form that is taken; a stated charset has to be UTF-8.

    raises: RequestProblem 415
    """
    charset = request.mimetype_params.get("charset", "utf-8") if form != "json" else "utf-8"
    if request.mimetype != MEDIA_TYPES[form] or request.content_encoding or charset.lower() != "utf-8":
        raise RequestProblem("unsupported-media-type", TYPES["unsupported-media-type"].explanation)


def parse(body: bytes) -> Any:
    """Parse the body as JSON, strictly.

    raises: RequestProblem 400 for anything that is not one JSON document, for duplicate keys and for deep nesting
    """
    try:
        document = orjson.loads(body)
        if body.count(b"{") + body.count(b"[") > DEEPEST and _depth(document) > DEEPEST:
            raise RequestProblem("invalid-json", f"The body is nested deeper than {DEEPEST} levels.")
        if b"\\u" in body or body.count(b":") != orjson.dumps(document).count(b":"):
            json.loads(body, object_pairs_hook=_unique)  # orjson keeps the last of duplicate keys, and so fewer colons
    except ValueError as error:
        raise RequestProblem("invalid-json", f"The body is not valid JSON: {str(error)[:200]}.") from None
    return document


def _unique(pairs: list[tuple[str, Any]]) -> Body:
    found = dict(pairs)
    if len(found) != len(pairs):
        twice = next(name for name, count in Counter(name for name, _ in pairs).items() if count > 1)
        raise ValueError(f"the key {twice[:100]!r} stands twice in one object")
    return found


def _depth(document: Any) -> int:
    deepest = 0
    level: list[Any] = [[document]]
    while level and deepest <= DEEPEST + 1:
        deepest += 1
        level = [
            inner
            for node in level
            for inner in (node.values() if isinstance(node, dict) else node)
            if isinstance(inner, (dict, list))
        ]
    return deepest - 1


def load(schema: Schema, document: Any) -> Any:
    """Load the request as objects of the core.

    raises: RequestProblem 422, with every fault
    """
    if not isinstance(document, dict):
        errors = [{"in": "body", "pointer": "", "code": "not-an-object", "text": "Must be an object."}]
        raise RequestProblem("invalid-request", "The body must be a JSON object.", errors=errors)
    try:
        given: Any = schema.load(document)
    except ValidationError as error:
        errors = problems.faults_of(error)
        raise RequestProblem("invalid-request", _count(errors), errors=errors[:MOST_FAULTS]) from None
    model = given.get("model") if isinstance(given, dict) else given.model
    if model not in (None, MODEL):
        errors = [{"in": "body", "pointer": "/model", "code": "model-not-available", "text": f"This is {MODEL}."}]
        raise RequestProblem(
            "model-not-available", f"This deployment computes with {MODEL}.", errors=errors, available=[MODEL]
        )
    return given


def _count(errors: list[Body]) -> str:
    return f"{len(errors)} {'field is' if len(errors) == 1 else 'fields are'} not valid."

"""Read a request: the form that its answer is to have, its query, and its body as the core objects that it names."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

import orjson
from flask import request
from marshmallow import Schema, ValidationError
from werkzeug.datastructures import MIMEAccept

from service import MODEL
from service.api import problems
from service.api.endpoint.omission import OMITTED
from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation, Reference
from service.api.problems import RequestProblem
from service.errors import Fault, Names
from service.limits.requests import DEEPEST, MOST_PARTS

OF_TEXT = ("columns", "charset", "station")
"""Query parameters of the text form alone."""
OF_JSON = ("json", "ndjson")
"""Forms that lists can be left out of."""


def negotiate(operation: Operation[Any, Any] | Reference) -> tuple[str, dict[str, str]]:
    """Choose the form to answer in, and read the query parameters.

    raises: RequestProblem 400 for a parameter that is unknown or wrong, 406 for a form that does not exist
    """
    offered = operation.offered
    query = request.args.to_dict() if request.query_string else {}
    wrong = [
        Fault(f"/{name}", "unknown-parameter", "Unknown parameter.")
        for name in query
        if name not in ("format", *operation.query) and not (name == "omit" and isinstance(operation, Operation))
    ]
    if "format" in query:
        form = query["format"]
        if form not in offered:
            raise _not_acceptable(offered)
    else:
        most_accept = (None, "*/*", MEDIA_TYPES[offered[0]])
        form = offered[0] if request.headers.get("Accept") in most_accept else _best(request.accept_mimetypes, offered)
    if form != "text":
        wrong += [
            Fault(f"/{name}", "needs-text", "Only the text form has {name}.", (("name", name),))
            for name in OF_TEXT
            if name in query and name in operation.query
        ]
    if "omit" in query:
        wrong += _faults_of_omit(omitted(), form)
    wrong += [
        fault
        for name, schema in operation.query.items()
        if name in query
        for fault in _faults(name, query[name], schema)
    ]
    if wrong:
        raise RequestProblem("invalid-query", errors=wrong, where="query")
    return form, query


def omitted() -> list[str]:
    """Return the lists that the current request leaves out: set apart by commas, or in several parameters."""
    return ",".join(request.args.getlist("omit")).split(",") if "omit" in request.args else []


def _faults_of_omit(names: list[str], form: str) -> Iterator[Fault]:
    if form not in OF_JSON:
        yield Fault("/omit", "needs-json", "Only JSON has {name}.", (("name", "omit"),))
    if len(names) > len(set(names)):
        yield Fault("/omit", "duplicate", "Each list stands once.")
    if not set(names) <= set(OMITTED):
        yield Fault("/omit", "not-a-choice", "Must be one of: {choices}.", (("choices", Names(OMITTED)),))


def _not_acceptable(forms: Iterable[str]) -> RequestProblem:
    text = "This operation answers as: {forms}."
    return RequestProblem("not-acceptable", text, params={"forms": Names(forms)})


def _faults(name: str, text: str, schema: Body) -> Iterator[Fault]:
    """Yield the faults of a parameter, which is one of a list of words, or a whole number."""
    if "enum" in schema:
        if text not in schema["enum"]:
            choices = (("choices", Names(schema["enum"])),)
            yield Fault(f"/{name}", "not-a-choice", "Must be one of: {choices}.", choices)
        return
    low, high = schema["minimum"], schema["maximum"]
    if not (text.isascii() and text.isdigit() and len(text) < 9 and low <= int(text) <= high):
        ends = (("low", float(low)), ("high", float(high)))
        yield Fault(f"/{name}", "out-of-range", "Must be a whole number from {low} to {high}.", ends)


def _best(accept: MIMEAccept, offered: tuple[str, ...]) -> str:
    if not accept:
        return offered[0]
    types = [MEDIA_TYPES[form] for form in offered]
    accept = MIMEAccept([(media.partition(";")[0].strip(), q) for media, q in accept])  # charset and the like
    quality = {form: accept.quality(media) for form, media in zip(offered, types, strict=True)}
    best = max(offered, key=lambda form: quality[form])  # the first of equals, and JSON is listed first
    if quality[best] <= 0:
        raise _not_acceptable(types)
    return best


def check_media_type(form: str) -> None:
    """Refuse a body that is not one plain document of the form that is taken; a stated charset has to be UTF-8.

    raises: RequestProblem 415
    """
    charset = request.mimetype_params.get("charset", "utf-8") if form != "json" else "utf-8"
    if request.mimetype != MEDIA_TYPES[form] or request.content_encoding or charset.lower() != "utf-8":
        raise RequestProblem("unsupported-media-type")


def parse(body: bytes) -> Any:
    """Parse the body as JSON, strictly.

    raises: RequestProblem 400 for anything that is not one JSON document, and for duplicate keys, depth, and parts
    """
    opened = body.count(b"{") + body.count(b"[")
    if opened > MOST_PARTS:
        text = "The body has more than {most} objects and lists."
        raise RequestProblem("invalid-json", text, params={"most": float(MOST_PARTS)})
    try:
        document = orjson.loads(body)
        if opened > DEEPEST and _depth(document) > DEEPEST:
            raise RequestProblem(
                "invalid-json", "The body is nested deeper than {most} levels.", params={"most": float(DEEPEST)}
            )
        if b"\\u" in body or body.count(b":") != orjson.dumps(document).count(b":"):
            json.loads(body, object_pairs_hook=_unique)  # orjson keeps the last of duplicate keys, and so fewer colons
    except ValueError as error:
        text = "The body is not valid JSON: {error}."  # in the words of the parser
        raise RequestProblem("invalid-json", text, params={"error": str(error)[:200]}) from None
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
        raise RequestProblem("invalid-request", errors=[Fault("", "not-an-object", "The body must be a JSON object.")])
    try:
        given: Any = schema.load(document)
    except ValidationError as error:
        raise RequestProblem("invalid-request", errors=problems.faults_of(error)) from None
    model = given.get("model") if isinstance(given, dict) else given.model
    if model not in (None, MODEL):
        here = {"model": MODEL}
        fault = Fault("/model", "model-not-available", "This is {model}.", tuple(here.items()))
        text = "This deployment computes with {model}."
        raise RequestProblem("model-not-available", text, params=here, errors=[fault], available=[MODEL])
    return given

"""From the bytes of a body to the core objects that it names."""

import json
from collections import Counter
from typing import Any

import orjson
from marshmallow import Schema, ValidationError

from service import MODEL
from service.api import problems
from service.api.endpoint.operation import Body
from service.api.problems import RequestProblem
from service.errors import Fault
from service.limits.requests import DEEPEST


def parse(body: bytes) -> Any:
    """The body as JSON, strictly.

    raises: RequestProblem 400 for anything that is not one JSON document, for duplicate keys and for deep nesting
    """
    try:
        document = orjson.loads(body)
        if body.count(b"{") + body.count(b"[") > DEEPEST and _depth(document) > DEEPEST:
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
    """The request as core objects.

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

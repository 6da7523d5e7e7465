"""One request, from bytes to answer: negotiate, parse, load, compute, write. Views hold only what differs."""

import json
from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

import orjson
from flask import Flask, Response, request
from marshmallow import EXCLUDE, RAISE, Schema, ValidationError, pre_load, validates_schema
from werkzeug.datastructures import MIMEAccept

from service import MODEL
from service.api import problems
from service.api.answers import Answer
from service.api.problems import RequestProblem
from service.api.quantities import Choice, Coded, Text
from service.errors import OutsideValidity, Refused, SeveralRefused
from service.notes import Notes

Body = dict[str, Any]
DEEPEST = 64
MENDS = 4
"""Rounds in which the offer of a refusal is tried; more faults than this hide behind each other in no request seen."""
MEDIA_TYPES = {
    "json": "application/json",
    "text": "text/plain",
    "html": "text/html",
    "csv": "text/csv",
    "svg": "image/svg+xml",
}


class Closed(Schema):
    """Base of everything a request may hold: unknown fields are refused."""

    class Meta:
        unknown = RAISE

    error_messages = {  # noqa: RUF012 - marshmallow's own convention
        "unknown": Coded("unknown-field", "Unknown field."),
        "type": Coded("not-an-object", "Must be an object."),
    }


class ExactlyOne(Closed):
    """A choice: an object with exactly one of its properties."""

    @validates_schema(skip_on_field_errors=False)
    def one(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        if len(data) > 1:
            raise ValidationError([Coded("exactly-one", f"Give exactly one of: {', '.join(self.fields)}.")])

    @pre_load
    def some(self, data: Any, **kwargs: Any) -> Any:
        if isinstance(data, Mapping) and not data:
            raise ValidationError([Coded("exactly-one", f"Give exactly one of: {', '.join(self.fields)}.")])
        return data


class Open(Schema):
    """Base of everything an answer holds; clients tolerate fields they do not know."""

    class Meta:
        unknown = EXCLUDE


class LabelsField(Text):
    """Up to 16 string pairs, echoed and never kept."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, Mapping) or len(value) > 16:
            raise ValidationError([Coded("labels", "Must be an object of at most 16 strings.")])
        wrong: Body = {}
        for name, text in value.items():
            try:
                super()._deserialize(text, attr, data, **kwargs)
                super()._deserialize(name, attr, data, **kwargs)
            except ValidationError as error:
                wrong[name] = error.messages
        if wrong:
            raise ValidationError(wrong)
        return dict(value)

    def openapi(self) -> Body:
        return {
            "type": "object",
            "maxProperties": 16,
            "additionalProperties": {"type": "string", "minLength": 1, "maxLength": self.longest},
        }


class Request(Closed):
    """What every request may hold."""

    units = Choice("metric", "us", load_default="metric", metadata={"description": "Units of the answer."})
    labels = LabelsField(metadata={"description": "Echoed in the answer; never hashed, stored or logged."})
    model = Text(longest=40, metadata={"description": "Insist on this model version; another is refused."})


@dataclass(frozen=True)
class Operation:
    """One operation: what the router, the parser and the OpenAPI document need to know of it.

    forms: further forms of the answer beside JSON, each a function of the answer and the query
    query: names of query parameters with their OpenAPI schema
    """

    path: str
    operation_id: str
    tag: str
    summary: str
    description: str
    request: Request
    answer: type[Open]
    view: Callable[[Body, Answer, Notes], Body]
    forms: Mapping[str, Callable[[Body, Mapping[str, str]], str]] = field(default_factory=dict)
    query: Mapping[str, Body] = field(default_factory=dict)


def register(app: Flask, operation: Operation) -> None:
    """Route POST requests of the operation's path to it."""

    def handle() -> Response:
        return serve(operation)

    app.add_url_rule(operation.path, operation.operation_id, handle, methods=["POST"])


def serve(operation: Operation) -> Response:
    """Answer the current request."""
    form, query = negotiate(operation)
    problems.wants_body()
    document = parse(request.get_data(cache=False))
    given = load(operation.request, document)
    answer = Answer(given["units"])
    try:
        notes, result = compute(operation, given, answer)
    except (Refused, SeveralRefused) as refused:
        return problems.respond(offered(operation, document, problems.refusal(refused, answer), answer))
    labels = {"labels": given["labels"]} if "labels" in given else {}
    return respond(answer.envelope(notes, {**labels, **result}), form, query, operation)


def compute(operation: Operation, given: Body, answer: Answer) -> tuple[Notes, Body]:
    """Run the view.

    raises: Refused, SeveralRefused
    """
    notes = Notes()
    try:
        return notes, operation.view(given, answer, notes)
    except OutsideValidity as outside:
        raise problems.outside(outside) from None


def offered(operation: Operation, document: Any, found: Body, answer: Answer) -> Body:
    """The refusal with what it offers tried out: applied together, the request is answered; else nothing is offered.

    Mending one fault may bring out the next, whose offer then joins in.
    """
    mended = deepcopy(document)
    offers: Body = {}
    last = found
    for _ in range(MENDS):
        if not last.get("nearest"):
            break
        offers |= {near["pointer"]: near["value"] for near in last["nearest"]}
        for pointer, value in offers.items():
            put(mended, pointer, value)
        try:
            compute(operation, load(operation.request, mended), answer)
        except (Refused, SeveralRefused) as refused:
            last = problems.refusal(refused, answer)
        except RequestProblem:
            break
        else:
            return {**found, "nearest": [{"pointer": p, "value": v} for p, v in offers.items()]}
    return {key: value for key, value in found.items() if key != "nearest"}


def put(document: Any, pointer: str, value: Any) -> None:
    """Replace the node at a JSON Pointer (RFC 6901); objects on the way that lack are made."""
    *way, last = [token.replace("~1", "/").replace("~0", "~") for token in pointer.split("/")[1:]]
    node = document
    for token in way:
        node = node[int(token)] if isinstance(node, list) else node.setdefault(token, {})
    node[int(last) if isinstance(node, list) else last] = deepcopy(value)


def respond(body: Body, form: str, query: Mapping[str, str], operation: Operation) -> Response:
    """The answer in the negotiated form."""
    text: bytes | str = orjson.dumps(body) if form == "json" else operation.forms[form](body, query)
    response = Response(text, mimetype=MEDIA_TYPES[form])
    response.headers["Cache-Control"] = "no-store"
    response.headers["Content-Language"] = "en"
    if operation.forms:
        response.headers["Vary"] = "Accept"
    return response


def negotiate(operation: Operation) -> tuple[str, dict[str, str]]:
    """The form to answer in, and the query parameters.

    raises: RequestProblem 400 for a parameter that is unknown or wrong, 406 for a form that does not exist
    """
    offered = ("json", *operation.forms)
    query = request.args.to_dict()
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
        form = _best(request.accept_mimetypes, offered)
    if form != "text" and "columns" in query:
        wrong.append(_query_fault("columns", "needs-text", "Only the text form has columns."))
    wrong += [
        _query_fault(name, "out-of-range", f"Must be a whole number from {schema['minimum']} to {schema['maximum']}.")
        for name, schema in operation.query.items()
        if name in query and not _fits(query[name], schema)
    ]
    if wrong:
        raise RequestProblem("invalid-query", "The query is not valid.", errors=wrong)
    return form, query


def _fits(text: str, schema: Body) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 9 and schema["minimum"] <= int(text) <= schema["maximum"]


def _query_fault(name: str, code: str, text: str) -> Body:
    return {"in": "query", "pointer": f"/{name}", "code": code, "text": text}


def _best(accept: MIMEAccept, offered: tuple[str, ...]) -> str:
    if not accept:
        return "json"
    types = [MEDIA_TYPES[form] for form in offered]
    quality = {form: accept.quality(media) for form, media in zip(offered, types, strict=True)}
    best = max(offered, key=lambda form: quality[form])  # the first of equals, and JSON is listed first
    if quality[best] <= 0:
        raise RequestProblem("not-acceptable", f"This operation answers as: {', '.join(types)}.")
    return best


def parse(body: bytes) -> Any:
    """The body as JSON, strictly.

    raises: RequestProblem 400 for anything that is not one JSON document, for duplicate keys and for deep nesting
    """
    try:
        document = orjson.loads(body)
        json.loads(body, object_pairs_hook=_unique)  # orjson keeps the last of duplicate keys in silence
    except (ValueError, RecursionError) as error:
        raise RequestProblem("invalid-json", f"The body is not valid JSON: {str(error)[:200]}.") from None
    if _depth(document) > DEEPEST:
        raise RequestProblem("invalid-json", f"The body is nested deeper than {DEEPEST} levels.")
    return document


def _unique(pairs: list[tuple[str, Any]]) -> Body:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for i, name in enumerate(names) if name in names[:i])
        raise ValueError(f"the key {twice[:100]!r} stands twice in one object")
    return found


def _depth(document: Any) -> int:
    deepest, level = 0, [document]
    while level and deepest <= DEEPEST:
        deepest += 1
        level = [
            inner
            for node in level
            if isinstance(node, dict | list)
            for inner in (node.values() if isinstance(node, dict) else node)
        ]
    return deepest


def load(schema: Request, document: Any) -> Body:
    """The request as core objects.

    raises: RequestProblem 422, with every fault
    """
    if not isinstance(document, dict):
        errors = [{"in": "body", "pointer": "", "code": "not-an-object", "text": "Must be an object."}]
        raise RequestProblem("invalid-request", "The body must be a JSON object.", errors=errors)
    try:
        given: Any = schema.load(document)
    except ValidationError as error:
        errors = problems.faults_of(error)
        raise RequestProblem("invalid-request", _count(errors), errors=errors[:1000]) from None
    if given.get("model", MODEL) != MODEL:
        errors = [{"in": "body", "pointer": "/model", "code": "model-not-available", "text": f"This is {MODEL}."}]
        raise RequestProblem(
            "model-not-available", f"This deployment computes with {MODEL}.", errors=errors, available=[MODEL]
        )
    loaded: Body = given
    return loaded


def _count(errors: list[Body]) -> str:
    return f"{len(errors)} {'field is' if len(errors) == 1 else 'fields are'} not valid."

"""From the request to the response of an operation."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import orjson
from flask import Flask, Response, g, request, stream_with_context

from service import MODEL
from service.api import problems, wire
from service.api.answers import Answer
from service.api.endpoint.computing import refused_as, work
from service.api.endpoint.negotiation import check_media_type, negotiate
from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation, Parts, Served
from service.api.endpoint.parsing import load, parse
from service.api.places import speech_of
from service.api.problems import RequestProblem
from service.errors import Refused, SeveralRefused
from service.notes import SAFETY, Envelope, Notes
from service.request import Request


def register(app: Flask, operation: Operation[Any, Any]) -> None:
    """Route POST requests of the operation's path to it."""

    def handle() -> Response:
        return serve(operation)

    app.add_url_rule(operation.path, operation.operation_id, handle, methods=["POST"])


def serve(operation: Operation[Any, Any]) -> Response:
    """Answer the current request."""
    form, query = negotiate(operation)
    check_media_type()
    document = parse(read_body())
    asked = load(operation.schema, document)
    answer = answer_for(asked)
    try:
        notes, found = work(operation.view, asked)
    except (Refused, SeveralRefused) as refused:
        return problems.respond(refused_as(operation, document, refused, answer))
    if operation.parts is not None and form in operation.streams:
        parts = Enveloped(operation, asked, answer, notes, operation.parts(found, answer))
        return respond(stream_with_context(operation.streams[form](parts)), form, operation)
    body = enveloped(operation, asked, answer, notes, operation.write(found, answer))
    sent = orjson.dumps(body) if form == "json" else operation.forms[form](Served(asked, found, body, query, answer))
    return respond(sent, form, operation)


def answer_for(asked: Request) -> Answer:
    """Return what writes the answer of a request: in its units, and in the manner and language of its place."""
    place = asked.place
    speech = speech_of(place and place.locale, place and place.time_zone, g.language)
    g.language = speech.language
    return Answer(asked.system, speech)


@dataclass(frozen=True)
class Enveloped:
    """An answer in parts; what holds for all of it, and what every answer begins with, comes at the end."""

    operation: Operation[Any, Any]
    asked: Any
    answer: Answer
    notes: Notes
    parts: Parts

    @property
    def items(self) -> Iterator[Body]:
        return self.parts.items

    def end(self) -> Body:
        return enveloped(self.operation, self.asked, self.answer, self.notes, self.parts.end())


def enveloped(operation: Operation[Any, Any], asked: Any, answer: Answer, notes: Notes, found: Body) -> Body:
    """Return an answer in its envelope."""
    safety = SAFETY if operation.pressure else None
    head = Envelope(MODEL, tuple(notes.cautions), tuple(notes.assumptions), safety, asked.labels)
    return {**wire.write(head, answer), **found}


def read_body() -> bytes:
    """The body of the current request, at most what the application allows.

    raises: RequestProblem 400, 413
    """
    read = request.get_data(cache=False)
    if len(read) < (request.content_length or 0):  # what came of it may be JSON all the same
        raise RequestProblem("bad-request")
    if request.content_length is None and len(read) >= (request.max_content_length or len(read)):
        raise RequestProblem("body-too-large")  # cut off by the server
    return read


def respond(sent: bytes | str | Iterator[bytes], form: str, operation: Operation[Any, Any]) -> Response:
    """The answer in the negotiated form, whole or line by line."""
    response = Response(sent, mimetype=MEDIA_TYPES[form])
    response.headers["Cache-Control"] = "no-store"
    response.headers.update(operation.headers.get(form, {}))
    if operation.further_forms:
        response.vary.add("Accept")
    return response

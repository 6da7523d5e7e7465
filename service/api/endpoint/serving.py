"""From the request to the response of an operation; references are rendered once a language, with a strong ETag."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import orjson
from flask import Flask, Response, g, request, stream_with_context

from service import MODEL
from service.api import problems, wire
from service.api.answers import Answer
from service.api.endpoint.computing import problem_of_refusal, try_each, work
from service.api.endpoint.kept import Kept
from service.api.endpoint.omission import omitting
from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation, Parts, Reference, Served
from service.api.endpoint.parsing import check_media_type, load, negotiate, omitted, parse
from service.api.moments import speech_of
from service.api.problems import RequestProblem
from service.api.words import ENGLISH, Language
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
    check_media_type(operation.takes)
    document, asked = asked_of(operation, query)
    answer = answer_for(asked, frozenset(omitted()))
    try:
        notes, found = work(operation.view, asked)
    except (Refused, SeveralRefused) as refused:
        return problems.respond(problem_of_refusal(operation, document, refused, answer))
    if operation.parts is not None and form in operation.streams:
        parts = Enveloped(operation, asked, answer, notes, operation.parts(found, answer))
        return respond(stream_with_context(operation.streams[form](parts)), form, operation)
    written = operation.write(found, answer)
    try_each(operation, document, found, written, answer)
    body = enveloped(operation, asked, answer, notes, written)
    if form == "json":
        return respond(orjson.dumps(body), form, operation)
    return respond(operation.forms[form](Served(asked, found, body, query, answer, notes)), form, operation)


def asked_of(operation: Operation[Any, Any], query: Mapping[str, str]) -> tuple[Any, Any]:
    """Return the body of the current request as JSON, where it is that, and the request."""
    if operation.read is not None:
        return {}, operation.read(read_body(), query)
    document = parse(read_body())
    return document, load(operation.schema, document)


def answer_for(asked: Request, omit: frozenset[str] = frozenset()) -> Answer:
    """Return what writes the answer of a request: in its units, and in the manner and language of its place.

    omit: names of lists that it is sent without
    """
    place = asked.place
    speech = speech_of(place and place.locale, place and place.time_zone, g.language)
    g.language = speech.language
    return Answer(asked.system, speech, omit)


@dataclass(frozen=True)
class Enveloped:
    """An answer in parts; its envelope, and the figures about all parts, come at the end."""

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
    """Return an answer in its envelope, without the lists that it is to be sent without."""
    safety = SAFETY if operation.pressure else None
    head = Envelope(MODEL, tuple(notes.cautions), tuple(notes.assumptions), safety, asked.labels)
    return omitting({**wire.write(head, answer), **found}, answer.omit)


def read_body() -> bytes:
    """Read the body of the current request, up to the length that the application allows.

    raises: RequestProblem 400, 413
    """
    read = request.get_data(cache=False)
    if len(read) < (request.content_length or 0):  # the part that arrived may be JSON all the same
        raise RequestProblem("bad-request")
    if request.content_length is None and len(read) >= (request.max_content_length or len(read)):
        raise RequestProblem("body-too-large")  # cut off by the server
    return read


def respond(sent: bytes | str | Iterator[bytes], form: str, operation: Operation[Any, Any]) -> Response:
    """Return the response with the answer in the negotiated form, whole or line by line."""
    response = Response(sent, mimetype=MEDIA_TYPES[form])
    response.headers["Cache-Control"] = "no-store"
    response.headers.update(operation.headers.get(form, {}))
    if operation.further_forms:
        response.vary.add("Accept")
    return response


MAX_AGE_S = 86_400
"""Time for which a copy may be used without asking again; a new model shows within a day."""


def register_reference(app: Flask, reference: Reference, *, kept_by: Literal["public", "private"]) -> None:
    """Route GET and HEAD requests of the reference's path to it.

    kept_by: which caches may keep it; where keys are asked for, only the caller's own, which is why no Vary is needed
    """

    @cache
    def table(language: Language) -> Kept:
        headers = {"Cache-Control": f"{kept_by}, max-age={MAX_AGE_S}", "Content-Language": language}
        return Kept(reference.sent(language), MEDIA_TYPES[reference.form], headers)

    table(ENGLISH)  # one that cannot be written ends the start

    def handle() -> Response:
        negotiate(reference)
        return table(g.language if reference.form == "json" else ENGLISH).respond()

    app.add_url_rule(reference.path, reference.operation_id, handle, methods=["GET"])

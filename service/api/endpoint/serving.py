"""From the request to the response of an operation."""

from collections.abc import Mapping

import orjson
from flask import Flask, Response, request

from service.api import problems
from service.api.answers import Answer
from service.api.endpoint.computing import compute, refused_as
from service.api.endpoint.negotiation import check_media_type, negotiate
from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation
from service.api.endpoint.parsing import load, parse
from service.api.problems import RequestProblem
from service.errors import Refused, SeveralRefused


def register(app: Flask, operation: Operation) -> None:
    """Route POST requests of the operation's path to it."""

    def handle() -> Response:
        return serve(operation)

    app.add_url_rule(operation.path, operation.operation_id, handle, methods=["POST"])


def serve(operation: Operation) -> Response:
    """Answer the current request."""
    form, query = negotiate(operation)
    check_media_type()
    document = parse(read_body())
    given = load(operation.request, document)
    answer = Answer(given["units"])
    try:
        notes, result = compute(operation, given, answer)
    except (Refused, SeveralRefused) as refused:
        return problems.respond(refused_as(operation, document, refused, answer))
    labels = {"labels": given["labels"]} if "labels" in given else {}
    return respond(answer.envelope(notes, {**labels, **result}), form, query, operation)


def read_body() -> bytes:
    """The body of the current request, at most what the application allows.

    raises: RequestProblem 413
    """
    read = request.get_data(cache=False)
    if request.content_length is None and len(read) >= (request.max_content_length or len(read)):
        raise RequestProblem("body-too-large", problems.TYPES["body-too-large"].explanation)  # cut off by the server
    return read


def respond(body: Body, form: str, query: Mapping[str, str], operation: Operation) -> Response:
    """The answer in the negotiated form."""
    text: bytes | str = orjson.dumps(body) if form == "json" else operation.forms[form](body, query)
    response = Response(text, mimetype=MEDIA_TYPES[form])
    response.headers["Cache-Control"] = "no-store"
    response.headers["Content-Language"] = "en"
    if operation.forms:
        response.headers["Vary"] = "Accept"
    return response

"""References: rendered once, answered with a strong ETag."""

from hashlib import sha256
from typing import Literal

import orjson
from flask import Flask, Response, request

from service.api.endpoint.negotiation import negotiate
from service.api.endpoint.operation import MEDIA_TYPES, Reference
from service.api.problems import RequestProblem
from service.errors import Fault

LONGEST_TAGS = 1000
"""Characters of If-None-Match; one of our own tags takes 66."""
MAX_AGE_S = 86_400
"""How long a copy may be used unasked; a new model shows within a day."""


def register_reference(app: Flask, reference: Reference, *, kept_by: Literal["public", "private"]) -> None:
    """Route GET and HEAD requests of the reference's path to it.

    kept_by: which caches may keep it; where keys are asked for, only the caller's own, which is why no Vary is needed
    """
    body = orjson.dumps(reference.body())
    tag = sha256(body).hexdigest()

    def handle() -> Response:
        negotiate(reference)
        if len(request.headers.get("If-None-Match", "")) > LONGEST_TAGS:
            text = "Must be at most {most} characters long."
            fault = Fault("/If-None-Match", "too-long", text, (("most", float(LONGEST_TAGS)),))
            raise RequestProblem("bad-request", errors=[fault], where="header")
        response = Response(body, mimetype=MEDIA_TYPES["json"])
        response.set_etag(tag)
        response.headers["Cache-Control"] = f"{kept_by}, max-age={MAX_AGE_S}"
        response.make_conditional(request)
        if response.status_code == 412:
            raise RequestProblem("precondition-failed")
        return response

    app.add_url_rule(reference.path, reference.operation_id, handle, methods=["GET"])

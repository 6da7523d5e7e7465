"""What is the same for as long as the process lives, but for its language: with a strong ETag, or by 304 alone."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256

from flask import Response, request

from service.api.problems import RequestProblem
from service.errors import Fault

LONGEST_TAGS = 1000
"""Characters of If-None-Match; one of our own tags takes 66."""


@dataclass(frozen=True)
class Kept:
    """A body, its media type and the headers that go with it."""

    body: bytes
    media: str
    headers: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def tag(self) -> str:
        """The tag that names this very body in its language."""
        language = self.headers.get("Content-Language", "")
        return sha256(language.encode() + b"\n" + self.body).hexdigest()

    def respond(self) -> Response:
        """Return the body, or nothing where the caller has it (RFC 9110, section 13).

        raises: RequestProblem 400, 412
        """
        if len(request.headers.get("If-None-Match", "")) > LONGEST_TAGS:
            text = "Must be at most {most} characters long."
            fault = Fault("/If-None-Match", "too-long", text, (("most", float(LONGEST_TAGS)),))
            raise RequestProblem("bad-request", errors=[fault], where="header")
        response = Response(self.body, mimetype=self.media, headers=dict(self.headers))
        response.set_etag(self.tag)
        response.make_conditional(request)
        if response.status_code == 412:
            raise RequestProblem("precondition-failed")
        return response

"""The application factory; the only place that reads configuration."""

import os
import re
from collections.abc import Mapping
from hashlib import sha256
from hmac import compare_digest
from typing import Any
from uuid import uuid4

import orjson
from flask import Flask, Response, g, request
from flask.json.provider import JSONProvider

from service import MODEL
from service.api import acid, batching, carbonation, chilling, docs, endpoint, openapi, prep_sheet, problems, regas
from service.api.problems import RequestProblem

OPERATIONS = (
    *batching.OPERATIONS,
    *acid.OPERATIONS,
    *carbonation.OPERATIONS,
    *chilling.OPERATIONS,
    *regas.OPERATIONS,
    *prep_sheet.OPERATIONS,
)
LARGEST_BODY = 1024 * 1024
_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_OPEN_PATHS = ("/healthz", "/readyz", "/openapi.json", "/docs", "/problems/")
_KEY_HASH = re.compile(r"[0-9a-f]{64}")


class Orjson(JSONProvider):
    """orjson for Flask: faster, and strict about NaN and lone surrogates."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        return orjson.dumps(obj).decode()

    def loads(self, s: str | bytes, **kwargs: Any) -> Any:
        return orjson.loads(s)


def create_app(environment: Mapping[str, str] | None = None) -> Flask:
    """The WSGI application.

    environment: configuration, os.environ when left out. API_KEY_HASHES: SHA-256 of each key in hex, separated by
    commas. AUTH=open: no key is asked for. One of the two must be set.
    raises: ValueError when the configuration is wrong
    """
    key_hashes = _key_hashes(os.environ if environment is None else environment)
    app = Flask("service.api", static_folder=None)
    app.json = Orjson(app)
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY
    app.url_map.merge_slashes = False  # a path that is not one of ours is a problem document, not a redirect
    problems.init_app(app)
    openapi.init_app(app, OPERATIONS)
    docs.init_app(app)
    for operation in OPERATIONS:
        endpoint.register(app, operation)
    _probes(app)

    @app.before_request
    def identify() -> None:
        sent = request.headers.get("X-Request-Id", "")
        g.request_id = sent if _REQUEST_ID.fullmatch(sent) else uuid4().hex
        if key_hashes and not request.path.startswith(_OPEN_PATHS):
            _authorize(key_hashes)

    @app.after_request
    def finish(response: Response) -> Response:
        response.headers["X-Request-Id"] = g.request_id
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers.setdefault("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
        response.headers["Referrer-Policy"] = "no-referrer"
        return response

    return app


def _key_hashes(environment: Mapping[str, str]) -> tuple[str, ...]:
    stated = environment.get("API_KEY_HASHES", "").strip()
    open_to_all = environment.get("AUTH", "")
    if open_to_all not in ("", "open"):
        raise ValueError('AUTH may only be "open"')
    if bool(stated) == (open_to_all == "open"):
        raise ValueError("set either API_KEY_HASHES (SHA-256 in hex, comma-separated) or AUTH=open")
    hashes = tuple(part.strip() for part in stated.split(",")) if stated else ()
    if not all(_KEY_HASH.fullmatch(h) for h in hashes):
        raise ValueError("API_KEY_HASHES must hold 64 lower-case hex digits for each key")
    return hashes


def _authorize(key_hashes: tuple[str, ...]) -> None:
    scheme, _, key = request.headers.get("Authorization", "").partition(" ")
    found = sha256(key.encode("utf-8", "surrogateescape")).hexdigest()
    matches = [compare_digest(found, known) for known in key_hashes]  # every one, so that time tells nothing
    if scheme.lower() != "bearer" or not any(matches):
        raise RequestProblem("unauthorized", problems.TYPES["unauthorized"].explanation)


def _probes(app: Flask) -> None:
    @app.get("/healthz")
    def health() -> Any:
        return {"status": "alive", "model": MODEL}

    @app.get("/readyz")
    def readiness() -> Any:
        carbonation.self_check()
        return {"status": "ready", "model": MODEL}

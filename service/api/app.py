"""The application factory; the only place that reads configuration."""

import os
import re
from collections.abc import Mapping
from typing import Any
from uuid import uuid4

import orjson
from flask import Flask, Response, g, request
from flask.json.provider import JSONProvider
from flask_cors import CORS

from service import MODEL
from service.api import (
    acid,
    batching,
    carbonation,
    chilling,
    docs,
    endpoint,
    keys,
    logs,
    metrics,
    openapi,
    prep_sheet,
    problems,
    regas,
    rollouts,
    spec_checks,
)
from service.api.endpoint import LARGEST_BODY
from service.api.listing import lists
from service.api.references import REFERENCES

OPERATIONS = (
    *batching.OPERATIONS,
    *acid.OPERATIONS,
    *carbonation.OPERATIONS,
    *chilling.OPERATIONS,
    *regas.OPERATIONS,
    *prep_sheet.OPERATIONS,
    *rollouts.OPERATIONS,
    *spec_checks.OPERATIONS,
)
_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_OPEN_PATHS = ("/healthz", "/readyz", "/openapi.json", "/docs", "/welcome/", "/problems/")
_ORIGIN = re.compile(r"https?://[a-z0-9.-]+(:[0-9]{1,5})?")
ALLOWED = ["Authorization", "Content-Type", "If-None-Match", "X-Request-Id", "traceparent"]
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
}


class Orjson(JSONProvider):
    """orjson for Flask: faster, and strict about NaN and lone surrogates."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        return orjson.dumps(obj).decode()

    def loads(self, s: str | bytes, **kwargs: Any) -> Any:
        return orjson.loads(s)


def create_app(environment: Mapping[str, str] | None = None) -> Flask:
    """The WSGI application.

    environment: configuration, os.environ when left out.
        API_KEY_HASHES: SHA-256 of each key in hex, separated by commas. AUTH=open: no key is asked for. One of the two.
        CORS_ORIGINS: origins whose pages may call from a browser, separated by commas; none unless set.
        METRICS_BIND: address and port that the server listens on for metrics alone; none unless set.
    raises: ValueError when the configuration is wrong
    """
    settings = os.environ if environment is None else environment
    key_hashes, origins = _key_hashes(settings), _origins(settings)
    app = Service("service.api", static_folder=None)
    app.json = Orjson(app)
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY
    app.url_map.merge_slashes = False  # a path that is not one of ours is a problem document, not a redirect
    metrics.init_app(app)
    _identify(app, key_hashes)
    logs.init_app(app)
    problems.init_app(app)
    openapi.init_app(app, OPERATIONS, REFERENCES)
    docs.init_app(app, OPERATIONS, REFERENCES, keyed=bool(key_hashes))
    for operation in OPERATIONS:
        endpoint.register(app, operation)
    for reference in (*REFERENCES, *lists(OPERATIONS, REFERENCES)):
        keyed = bool(key_hashes) and not reference.open_to_all
        endpoint.register_reference(app, reference, kept_by="private" if keyed else "public")
    _probes(app)
    if origins:
        CORS(app, origins=origins, methods=["GET", "POST"], allow_headers=ALLOWED, expose_headers=["X-Request-Id"])
    if port := _metrics_port(settings):
        app.wsgi_app = metrics.on_port(app.wsgi_app, port)  # type: ignore[assignment]
    return app


class Service(Flask):
    """Flask, but a fault is logged without its message, which may hold what a caller sent."""

    def log_exception(self, exc_info: Any) -> None:
        logs.fault(exc_info[1])


def _identify(app: Flask, key_hashes: tuple[str, ...]) -> None:
    """Each exchange has an id, and a key where keys are asked for."""

    @app.before_request
    def identify() -> None:
        sent = request.headers.get("X-Request-Id", "")
        g.request_id = sent if _REQUEST_ID.fullmatch(sent) else uuid4().hex
        preflight = request.method == "OPTIONS"  # browsers send no key with it, and nothing is computed
        open_to_all = request.path in ("/", "/problems") or request.path.startswith(_OPEN_PATHS)
        if key_hashes and not preflight and not open_to_all:
            keys.authorize(key_hashes)

    @app.after_request
    def finish(response: Response) -> Response:
        response.headers["X-Request-Id"] = g.request_id
        response.headers.extend(_HEADERS)
        response.headers.setdefault("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
        return response


def _key_hashes(settings: Mapping[str, str]) -> tuple[str, ...]:
    stated, auth = settings.get("API_KEY_HASHES", "").strip(), settings.get("AUTH", "")
    if auth not in ("", "open"):
        raise ValueError('AUTH may only be "open"')
    if bool(stated) == (auth == "open"):
        raise ValueError("set either API_KEY_HASHES (SHA-256 in hex, comma-separated) or AUTH=open")
    return keys.hashes_of(stated)


def _origins(settings: Mapping[str, str]) -> list[str]:
    stated = [origin.strip() for origin in settings.get("CORS_ORIGINS", "").split(",") if origin.strip()]
    if not all(_ORIGIN.fullmatch(origin) for origin in stated):
        raise ValueError("CORS_ORIGINS must hold origins such as https://till.example, separated by commas")
    return stated


def _metrics_port(settings: Mapping[str, str]) -> int | None:
    stated = settings.get("METRICS_BIND", "")
    if not stated:
        return None
    port = stated.rpartition(":")[2]
    if not port.isdecimal() or not settings.get("PROMETHEUS_MULTIPROC_DIR"):
        raise ValueError("METRICS_BIND must be address:port, and needs PROMETHEUS_MULTIPROC_DIR")
    return int(port)


def _probes(app: Flask) -> None:
    @app.get("/healthz")
    def health() -> Any:
        return {"status": "alive", "model": MODEL}

    @app.get("/readyz")
    def readiness() -> Any:
        carbonation.self_check()
        return {"status": "ready", "model": MODEL}

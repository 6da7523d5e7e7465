"""The application factory; the only place that reads configuration."""

import os
import re
from collections.abc import Mapping, Sequence
from typing import Any
from uuid import uuid4

import orjson
from flask import Flask, Response, g, request
from flask.json.provider import JSONProvider
from flask_cors import CORS
from werkzeug.datastructures import LanguageAccept

from service import MODEL
from service.api import (
    acid,
    batching,
    carbonation,
    chilling,
    configuration,
    docs,
    draught,
    endpoint,
    keys,
    logs,
    metrics,
    prep_sheets,
    problems,
    reconciliations,
    regas,
    rollouts,
    service_plans,
    spec_checks,
    spec_sheets,
)
from service.api.keys import Key
from service.api.listing import lists
from service.api.references import REFERENCES
from service.api.words import ENGLISH, LANGUAGES, Language
from service.limits.requests import LARGEST_BODY

OPERATIONS = (
    *spec_checks.OPERATIONS,
    *spec_sheets.OPERATIONS,
    *batching.OPERATIONS,
    *acid.OPERATIONS,
    *chilling.OPERATIONS,
    *carbonation.OPERATIONS,
    *regas.OPERATIONS,
    *draught.OPERATIONS,
    *prep_sheets.OPERATIONS,
    *service_plans.OPERATIONS,
    *reconciliations.OPERATIONS,
    *rollouts.OPERATIONS,
)
"""In the order of the job."""
_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_OPEN_PATHS = ("/healthz", "/readyz", "/openapi.json", "/docs", "/guide", "/welcome/", "/problems/")
ALLOWED = ["Authorization", "Content-Type", "If-None-Match", "X-Request-Id", "traceparent"]
PREFLIGHT_S = 7200
"""Time for which a browser may rely on the answer to a preflight; browsers have bounds of their own."""
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
}


class Orjson(JSONProvider):
    """JSON for Flask by orjson: faster, and strict about NaN and lone surrogates."""

    def dumps(self, obj: Any, **kwargs: Any) -> str:
        return orjson.dumps(obj).decode()

    def loads(self, s: str | bytes, **kwargs: Any) -> Any:
        return orjson.loads(s)


def create_app(environment: Mapping[str, str] | None = None) -> Flask:
    """Create the WSGI application.

    environment: configuration, os.environ when left out.
        API_KEYS: name:hash or name:hash:last-day of each key, separated by commas; the hash is its SHA-256 in hex.
        API_KEY_HASHES: the same without names. AUTH=open: no key is asked for. Keys or this.
        CORS_ORIGINS: origins whose pages may call from a browser, separated by commas; none unless set.
        METRICS_BIND: address and port that the server listens on for metrics alone; none unless set.
    raises: ValueError when the configuration is wrong
    """
    settings = os.environ if environment is None else environment
    configured = configuration.read(settings)
    app = Service("service.api", static_folder=None)
    app.json = Orjson(app)
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY
    app.url_map.merge_slashes = False  # a path that is not one of ours is a problem document, not a redirect
    metrics.init_app(app, configured.keys)
    _identify(app, configured.keys, shared=bool(configured.origins))
    logs.init_app(app)
    problems.init_app(app)
    docs.init_app(app, OPERATIONS, REFERENCES, keyed=bool(configured.keys))
    for operation in OPERATIONS:
        endpoint.register(app, operation)
    for reference in (*REFERENCES, *lists(OPERATIONS, REFERENCES)):
        keyed = bool(configured.keys) and not reference.open_to_all
        endpoint.register_reference(app, reference, kept_by="private" if keyed else "public")
    _probes(app)
    if configured.origins:
        CORS(
            app,
            origins=list(configured.origins),
            methods=["GET", "POST"],
            allow_headers=ALLOWED,
            expose_headers=["X-Request-Id"],
            max_age=PREFLIGHT_S,
        )
    if configured.metrics_port:
        app.wsgi_app = metrics.on_port(app.wsgi_app, configured.metrics_port)  # type: ignore[assignment]
    return app


class Service(Flask):
    """Flask, but for faults, which are logged without their message: it may quote a caller."""

    def log_exception(self, exc_info: Any) -> None:
        logs.fault(exc_info[1])

    def create_url_adapter(self, request: Any) -> Any:
        """Do as Flask does, without the invitation to another protocol, which may be ignored (RFC 9110, 7.8)."""
        if request is not None:
            request.environ.pop("HTTP_UPGRADE", None)
        return super().create_url_adapter(request)


def _identify(app: Flask, known: Sequence[Key], *, shared: bool) -> None:
    """Give each exchange an id, and let it pass only with a key where keys are asked for.

    shared: whether pages of some other origin may read the answers, which then differ by origin
    """

    @app.before_request
    def identify() -> None:
        sent = request.headers.get("X-Request-Id", "")
        g.request_id = sent if _REQUEST_ID.fullmatch(sent) else uuid4().hex
        g.language = _language(request.accept_languages)
        preflight = request.method == "OPTIONS"  # browsers send no key with it, and it computes nothing
        open_to_all = request.path in ("/", "/problems") or request.path.startswith(_OPEN_PATHS)
        if known and not preflight and not open_to_all:
            keys.authorize(known)

    @app.after_request
    def finish(response: Response) -> Response:
        response.headers["X-Request-Id"] = g.request_id
        response.headers.setdefault("Content-Language", g.language)
        response.vary.add("Accept-Language")
        response.headers.extend(_HEADERS)
        response.headers.setdefault("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
        if shared:
            response.vary.add("Origin")
        return response


def _language(accepted: LanguageAccept) -> Language:
    """Return the first language asked for that there is: the lookup of RFC 4647, section 3.4; es for es-419.

    The tags that there are have one part, so that of a range only the first can match.
    """
    asked = (tag.partition("-")[0].lower() for tag, quality in accepted if quality > 0.0)
    for first in asked:
        for known in LANGUAGES:
            if first == known:
                return known
    return ENGLISH


def _probes(app: Flask) -> None:
    @app.get("/healthz")
    def health() -> Any:
        return {"status": "alive", "model": MODEL}

    @app.get("/authorized")
    def authorized() -> Any:
        """Answer the proxy, which asks before it takes in a long body; a request without a key is refused earlier."""
        return "", 204

    @app.get("/readyz")
    def readiness() -> Any:
        carbonation.self_check()
        return {"status": "ready", "model": MODEL}

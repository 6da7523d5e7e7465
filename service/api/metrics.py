"""Counts and times of requests for Prometheus, summed over the worker processes and served on a port of their own."""

from collections.abc import Callable, Iterable, Sequence
from time import perf_counter, time
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, g, request
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector

from service.api.keys import Key

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication

REQUESTS = Counter("batch_carbonation_requests", "Requests by operation and status.", ["operation", "status"])
SECONDS = Histogram(
    "batch_carbonation_request_seconds",
    "From the headers of a request to its answer, by operation.",
    ["operation"],
    buckets=(0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5),
)
PROBLEMS = Counter("batch_carbonation_problems", "Problem documents by operation and type.", ["operation", "type"])
WORKERS = Gauge(
    "batch_carbonation_workers", "Worker processes that live, by pool.", ["pool"], multiprocess_mode="livesum"
)
KEY_REQUESTS = Counter("batch_carbonation_key_requests", "Requests by name of key and status.", ["key", "status"])
KEY_USED = Gauge(
    "batch_carbonation_key_used_timestamp_seconds",
    "When a key was last used; 0 for one that was not since the start.",
    ["key"],
    multiprocess_mode="max",
)
KEY_ENDS = Gauge(
    "batch_carbonation_key_ends_timestamp_seconds",
    "From when on a key that has a last day opens no more.",
    ["key"],
    multiprocess_mode="max",
)
ALIVE = ("/healthz", "/readyz")


def operation() -> str:
    """Name the current operation by its id, or a route of the service; never by words of a caller."""
    return request.endpoint or "none"


def at_end(response: Response, tell: Callable[[float], object]) -> None:
    """Report how long the request took [s], once its answer is there, or sent where it is computed while it is sent."""
    began = float(g.started)
    if response.is_streamed:
        response.call_on_close(lambda: tell(perf_counter() - began))
    else:
        tell(perf_counter() - began)


def init_app(app: Flask, keys: Sequence[Key]) -> None:
    """Count and time every request, and show every key from the start, also one that nobody uses."""
    for key in keys:
        KEY_USED.labels(key.name).set(0.0)
        if key.last_day:
            KEY_ENDS.labels(key.name).set(key.ends)

    @app.before_request
    def start() -> None:
        g.started = perf_counter()

    @app.after_request
    def count(response: Response) -> Response:
        name = operation()
        REQUESTS.labels(name, str(response.status_code)).inc()
        at_end(response, SECONDS.labels(name).observe)
        if "problem" in g:
            PROBLEMS.labels(name, g.problem).inc()
        if "key" in g:
            KEY_REQUESTS.labels(g.key, str(response.status_code)).inc()
            KEY_USED.labels(g.key).set(time())
        return response


def on_port(app: "WSGIApplication", port: int) -> "WSGIApplication":
    """Return the application with the metrics and the probes, and nothing else, on a port of their own.

    Which of its sockets a request came in by is the server's word, not the caller's.
    """

    def serve(environ: dict[str, Any], start_response: "StartResponse") -> Iterable[bytes]:
        reading = environ["REQUEST_METHOD"] in ("GET", "HEAD")
        if environ["SERVER_PORT"] != str(port) or (reading and environ["PATH_INFO"] in ALIVE):
            return app(environ, start_response)
        known = reading and environ["PATH_INFO"] == "/metrics"
        body = _page() if known else b""
        head = [("Content-Type", CONTENT_TYPE_LATEST), ("Content-Length", str(len(body)))]
        start_response("200 OK" if known else "404 Not Found", head)
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [body]

    return serve


def not_http(status: int, problem: str) -> None:
    """Count a message that the server refused before it was a request."""
    REQUESTS.labels("none", str(status)).inc()
    PROBLEMS.labels("none", problem).inc()


def _page() -> bytes:
    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    return generate_latest(registry)

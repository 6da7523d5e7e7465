"""Counts and times of requests for Prometheus, summed over the worker processes and served on a port of their own."""

from collections.abc import Callable, Iterable
from time import perf_counter
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, g, request
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector

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
WORKERS = Gauge("batch_carbonation_workers", "Worker processes that live.", multiprocess_mode="livesum")


def operation() -> str:
    """What the current request asks for: an operation id, or a route of the service; never what a caller wrote."""
    return request.endpoint or "none"


def at_end(response: Response, tell: Callable[[float], object]) -> None:
    """Tell how long the request took [s], once its answer is there, or sent where it is computed meanwhile."""
    began = float(g.started)
    if response.is_streamed:
        response.call_on_close(lambda: tell(perf_counter() - began))
    else:
        tell(perf_counter() - began)


def init_app(app: Flask) -> None:
    """Count and time every request."""

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
        return response


def on_port(app: "WSGIApplication", port: int) -> "WSGIApplication":
    """The application with the metrics, and nothing else, on a port of their own.

    Which of its sockets a request came in by is the server's word, not the caller's.
    """

    def serve(environ: dict[str, Any], start_response: "StartResponse") -> Iterable[bytes]:
        if environ["SERVER_PORT"] != str(port):
            return app(environ, start_response)
        known = environ["PATH_INFO"] == "/metrics" and environ["REQUEST_METHOD"] == "GET"
        body = _page() if known else b""
        head = [("Content-Type", CONTENT_TYPE_LATEST), ("Content-Length", str(len(body)))]
        start_response("200 OK" if known else "404 Not Found", head)
        return [body]

    return serve


def _page() -> bytes:
    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    return generate_latest(registry)

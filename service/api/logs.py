"""One JSON line a request: what was asked, by whose key, how it went; never a body, a label, a header or a query."""

import re
from collections.abc import Callable, MutableMapping
from contextlib import suppress
from logging import ERROR, INFO, getLogger
from traceback import extract_tb
from types import TracebackType
from typing import Any

import orjson
import structlog
from flask import Flask, Response, g, request

from service.api.metrics import at_end, operation

_TRACE_PARENT = re.compile(r"(?!ff)[0-9a-f]{2}-(?!0{32})([0-9a-f]{32})-(?!0{16})([0-9a-f]{16})-[0-9a-f]{2}")
"""W3C Trace Context, section 3.2: ids of nothing but zeros, and version ff, are not valid."""
_LINE = (structlog.processors.add_log_level, structlog.processors.TimeStamper(fmt="iso", utc=True))
_LEVELS = {"info": INFO, "error": ERROR}
_QUOTING = ("Invalid request", "Error handling request")
"""Openings of the server's own lines that go on with the words of a caller."""


def _only_configured_levels(logger: Any, method: str, line: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """Drop lines below the configured level; the lines go round the logging module, which takes three times as long."""
    if not _SERVICE.isEnabledFor(_LEVELS[method]):
        raise structlog.DropEvent
    return line


_SERVICE = getLogger("service")
log: structlog.BoundLogger = structlog.wrap_logger(
    structlog.BytesLogger(),
    processors=[_only_configured_levels, *_LINE, structlog.processors.JSONRenderer(serializer=orjson.dumps)],
    wrapper_class=structlog.BoundLogger,
).bind()


def configuration(level: str) -> dict[str, Any]:
    """Return settings for logging.config: every line, the server's own too, as one JSON object on standard output."""
    render = structlog.processors.JSONRenderer(serializer=lambda line, **_: orjson.dumps(line, default=str).decode())
    formatter = {
        "()": structlog.stdlib.ProcessorFormatter,
        "processors": [structlog.stdlib.ProcessorFormatter.remove_processors_meta, render],
        "foreign_pre_chain": (*_LINE, _without_quotes),
    }
    out = {"class": "logging.StreamHandler", "stream": "ext://sys.stdout", "formatter": "json"}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": formatter},
        "handlers": {"out": out},
        "root": {"handlers": ["out"], "level": "WARNING"},  # libraries are talkative, and quote what callers sent
        "loggers": {
            "gunicorn.error": {"handlers": ["out"], "level": level.upper(), "propagate": False},
            "service": {"level": level.upper()},
        },
    }


def _without_quotes(logger: Any, method: str, line: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """Cut the words of a caller, and messages of exceptions that may quote them, out of a line of the server's own."""
    line["event"] = next((opening for opening in _QUOTING if line["event"].startswith(opening)), line["event"])
    kind, _, traceback = line.pop("exc_info", None) or (None, None, None)
    if kind:
        line.update(type=kind.__name__, frames=_frames(traceback))
    return line


def init_app(app: Flask) -> None:
    """Write the line of every request."""

    @app.after_request
    def line(response: Response) -> Response:
        known = {
            "operation": operation(),
            "method": request.method if request.method in _METHODS else "other",
            "status": response.status_code,
            "request_id": g.request_id,
            **({"key": g.key} if "key" in g else {}),
            **({"problem": g.problem} if "problem" in g else {}),
            **_trace(),
        }
        at_end(response, lambda seconds: _write(log.info, "request", seconds=round(seconds, 6), **known))
        return response


_METHODS = frozenset({"GET", "HEAD", "POST", "OPTIONS", "PUT", "PATCH", "DELETE"})


def _trace() -> dict[str, str]:
    sent = _TRACE_PARENT.fullmatch(request.headers.get("traceparent", ""))
    return {"trace_id": sent[1], "parent_id": sent[2]} if sent else {}


def not_http(status: int, problem: str, request_id: str) -> None:
    """Write the line of a message that the server refused before it was a request."""
    known = {"operation": "none", "method": "other", "status": status, "request_id": request_id, "problem": problem}
    _write(log.info, "request", **known)


def fault(error: BaseException) -> None:
    """Write where a fault of the service arose, without its message, which may quote a caller."""
    frames = _frames(error.__traceback__)
    _write(log.error, "fault", type=type(error).__name__, frames=frames, request_id=g.request_id, **_trace())


def _write(line: Callable[..., object], event: str, **known: object) -> None:
    """Write a line; one that cannot be written costs no caller the answer."""
    with suppress(OSError):
        line(event, **known)


def _frames(traceback: TracebackType | None) -> list[str]:
    return [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in extract_tb(traceback)][-20:]

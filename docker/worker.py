"""A worker of gunicorn: the socket that it serves, what it sends in one piece, how it refuses what is no request.

It overrides what gunicorn's own kinds of workers and answers do: see its workers/gthread.py and http2/response.py.
"""

import os
import select
import socket
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from http import HTTPStatus
from pathlib import Path
from re import compile as pattern
from struct import unpack
from typing import Any
from uuid import uuid4

import orjson
from gunicorn.http import errors
from gunicorn.http.wsgi import Response, create
from gunicorn.util import close_graceful
from gunicorn.workers.sync import SyncWorker

from service.api import logs, metrics
from service.api.problems import TYPES

WAITS_S = 10
"""The longest wait for a worker of the large pool; beyond it the caller is told to come again when there is room."""
RETRY_S = 5
HOST = pattern(r"[A-Za-z0-9._~%-]*(:[0-9]{0,5})?|\[[0-9A-Fa-f:.]+\](:[0-9]{0,5})?")
"""RFC 9110, section 7.2, without user names and sub-delimiters, which no name of ours has."""
REFUSED = (
    (errors.InvalidResponseHeader, "internal"),
    (errors.InvalidResponseHeaderName, "internal"),
    (errors.ConfigurationProblem, "internal"),
    (errors.LimitRequestLine, "uri-too-long"),
    (errors.LimitRequestHeaders, "headers-too-large"),
    (errors.ExpectationFailed, "expectation-failed"),
    (errors.ParseException, "bad-request"),
)
"""The problem type of each thing that gunicorn can find wrong."""


@dataclass(frozen=True)
class Pool:
    """Workers that serve one socket alone, so that no work waits behind that of another kind.

    port: of their socket; None for the one that has no other pool
    size: processes
    nice: how far they stand back for others when there is not enough CPU
    """

    name: str
    port: int | None
    size: int
    nice: int = 0


class Answer(Response):  # type: ignore[misc]
    """gunicorn's own, which sends its head along with the first of its body.

    Killed between the two, a worker would leave the proxy half an answer, which it can no longer ask another for.
    """

    headers_sent: bool
    head = b""

    def send_headers(self) -> None:
        if not self.headers_sent:
            fields = [f"{name}: {value}\r\n" for name, value in self.headers]
            self.head = "".join([*self.default_headers(), *fields, "\r\n"]).encode("latin-1")
            self.headers_sent = True

    def _emit_body(self, data: bytes) -> None:
        self._send(b"%X\r\n%b\r\n" % (len(data), data) if self.chunked else data)

    def close(self) -> None:
        self.send_headers()
        self._send(b"0\r\n\r\n" if self.chunked else b"")

    def _send(self, data: bytes) -> None:
        head, self.head = self.head, b""
        self.sock.sendall(head + data)

    @property
    def begun(self) -> bool:
        """Tell whether anything of it was sent."""
        return bool(self.headers_sent and not self.head)


def gone(client: socket.socket) -> bool:
    """Tell whether the proxy has closed the connection, since its caller left; known once all before that was read."""
    closed = select.poll()
    closed.register(client, select.POLLRDHUP)
    return bool(closed.poll(0))


def waited_s(client: socket.socket) -> float:
    """Return how long ago the last of the request came in [s]: tcpi_last_data_recv in linux/tcp.h, see tcp(7).

    Nobody but the kernel knows: the worker had no time, and the proxy's clock need not be that of this machine.
    """
    return float(unpack("8B12I", client.getsockopt(socket.IPPROTO_TCP, socket.TCP_INFO, 56))[-1]) / 1000.0


class Body:
    """The body of a request; wrong chunks, and a caller who has left, are for the application a broken stream.

    left: tells whether the caller has left; what it sent before may wait here all the same
    """

    def __init__(self, body: Any, left: Callable[[], bool]) -> None:
        self._body, self._left = body, left

    def read(self, size: int | None = None) -> bytes:
        try:
            found: bytes = self._body.read(size)
        except errors.ParseException as wrong:
            raise ValueError(type(wrong).__name__) from None
        if self._left():
            raise BrokenPipeError
        return found


class Worker(SyncWorker):  # type: ignore[misc]
    """gunicorn's own, the best p99 behind a proxy that buffers requests, with a socket of its pool's own."""

    pool: Pool
    sockets: list[Any]
    others: frozenset[int]
    """Ports of the other pools."""

    def init_process(self) -> None:
        mine = [each for each in self.sockets if self._serves(each.getsockname()[1])]
        for each in self.sockets:
            if each not in mine:
                each.close()  # it would stay open for callers in vain when its own workers have ended
        self.sockets = mine
        os.nice(self.pool.nice)
        with suppress(OSError):
            Path("/proc/self/comm").write_text(self.pool.name)  # for ps and top
        metrics.WORKERS.labels(self.pool.name).set(1)
        super().init_process()

    def _serves(self, port: int) -> bool:
        return port not in self.others if self.pool.port is None else port == self.pool.port

    def handle(self, listener: Any, client: socket.socket, addr: Any) -> None:
        if self.pool.name == "large":
            if gone(client):
                client.close()
                return
            if waited_s(client) > WAITS_S:
                with suppress(OSError):  # it has left after all
                    self._refuse(client, "unavailable", f"Retry-After: {RETRY_S}\r\n")
                close_graceful(client)
                return
        super().handle(listener, client, addr)

    def handle_request(self, listener: Any, req: Any, client: socket.socket, addr: Any) -> None:
        """Answer as SyncWorker does, but by `Answer`; without an access log and hooks of a request: none are set."""
        hosts = [value for name, value in req.headers if name == "HOST"]
        if (not hosts and req.version >= (1, 1)) or not all(map(HOST.fullmatch, hosts)):  # RFC 9112, section 3.2
            raise errors.InvalidHeader("Host")
        answer, environ = create(req, client, addr, listener.getsockname(), self.cfg, Answer)
        answer.force_close()
        environ["wsgi.input"] = Body(req.body, lambda: self.pool.name == "large" and gone(client))
        self.nr += 1
        if self.nr >= self.max_requests:
            self.alive = False
        parts = self.wsgi(environ, answer.start_response)
        try:
            for part in parts:
                answer.write(part)
            answer.close()
        except OSError:  # the caller has left
            raise
        except (Exception, SystemExit):
            if not answer.begun:
                raise
            self.log.exception("Error handling request")
            raise StopIteration from None  # nothing more is sent, and the caller sees that something is missing
        finally:
            if hasattr(parts, "close"):
                parts.close()

    def handle_error(self, req: Any, client: socket.socket, addr: Any, exc: BaseException) -> None:
        """Answer what is no request, or what the application failed at, with a problem document."""
        slug = next((slug for kind, slug in REFUSED if isinstance(exc, kind)), "internal")
        if slug == "internal":
            self.log.error("Error handling request", exc_info=exc)
        with suppress(OSError):  # it has left
            self._refuse(client, slug)

    def _refuse(self, client: socket.socket, slug: str, more: str = "") -> None:
        kind, request_id = TYPES[slug], uuid4().hex
        found = {
            "type": f"/problems/{slug}", "title": kind.title, "status": kind.status, "detail": kind.explanation,
            "request_id": request_id, "errors": [],
        }  # fmt: skip
        body = orjson.dumps(found)
        head = (
            f"HTTP/1.1 {kind.status} {HTTPStatus(kind.status).phrase}\r\nConnection: close\r\n"
            "Content-Type: application/problem+json\r\n"
            f"Content-Length: {len(body)}\r\nContent-Language: en\r\nCache-Control: no-store\r\n"
            f"X-Request-Id: {request_id}\r\nX-Content-Type-Options: nosniff\r\n{more}\r\n"
        )
        client.sendall(head.encode() + body)
        metrics.not_http(kind.status, slug)
        logs.not_http(kind.status, slug, request_id)

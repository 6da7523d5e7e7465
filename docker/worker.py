"""A worker of gunicorn: the socket that it serves, what it sends in one piece, how it refuses what is no request."""

import os
import select
import socket
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from http import HTTPStatus
from pathlib import Path
from re import compile as pattern
from typing import Any
from uuid import uuid4

import orjson
from gunicorn.http import errors
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


class Connection(socket.socket):
    """A caller's, which sends the head of an answer along with the first of its body.

    Killed between the two, a worker would leave the proxy half an answer, which it can no longer ask another for.
    """

    head = b""

    def sendall(self, data: Any, flags: int = 0) -> None:
        if data.startswith(b"HTTP/1.1 ") and data.endswith(b"\r\n\r\n"):
            self.head = data
            return
        head, self.head = self.head, b""
        super().sendall(head + data if head else data, flags)

    def shutdown(self, how: int) -> None:
        if self.head:
            super().sendall(self.head)  # of an answer without a body
        super().shutdown(how)

    def given_up(self) -> bool:
        """Tell whether the proxy has closed it, since its own caller left; known once all before that was read."""
        closed = select.poll()
        closed.register(self, select.POLLRDHUP)
        return bool(closed.poll(0))

    def waited_s(self) -> float:
        """Return how long ago the last of the request came in [s]: tcpi_last_data_recv of struct tcp_info, of Linux."""
        told = self.getsockopt(socket.IPPROTO_TCP, socket.TCP_INFO, 56)
        return int.from_bytes(told[52:56], "little") / 1000.0


class Body:
    """The body of a request; wrong chunks, and a caller who has left, are for the application a broken stream.

    given_up: whether the caller has left; what it sent before may wait here all the same
    """

    def __init__(self, body: Any, given_up: Callable[[], bool]) -> None:
        self._body, self._given_up = body, given_up

    def read(self, size: int | None = None) -> bytes:
        try:
            found: bytes = self._body.read(size)
        except errors.ParseException as wrong:
            raise ValueError(type(wrong).__name__) from None
        if self._given_up():
            raise BrokenPipeError
        return found


class Worker(SyncWorker):  # type: ignore[misc]
    """gunicorn's own, the best p99 behind a proxy that buffers requests, with a socket of its pool's own."""

    pool: Pool
    sockets: list[Any]
    others: frozenset[int]
    """Ports of the other pools."""

    def init_process(self) -> None:
        self.sockets = [each for each in self.sockets if self._serves(each.getsockname()[1])]
        os.nice(self.pool.nice)
        with suppress(OSError):
            Path("/proc/self/comm").write_text(self.pool.name)  # for ps and top
        metrics.WORKERS.labels(self.pool.name).set(1)
        super().init_process()

    def _serves(self, port: int) -> bool:
        return port not in self.others if self.pool.port is None else port == self.pool.port

    def handle(self, listener: Any, client: socket.socket, addr: Any) -> None:
        connection = Connection(fileno=client.detach())
        if self.pool.name == "large":
            if connection.given_up():
                connection.close()
                return
            if connection.waited_s() > WAITS_S:
                with suppress(OSError):  # it has left after all
                    self._refuse(connection, "unavailable", f"Retry-After: {RETRY_S}\r\n")
                close_graceful(connection)
                return
        super().handle(listener, connection, addr)

    def handle_request(self, listener: Any, req: Any, client: Connection, addr: Any) -> None:
        hosts = [value for name, value in req.headers if name == "HOST"]
        if (not hosts and req.version >= (1, 1)) or not all(map(HOST.fullmatch, hosts)):  # RFC 9112, section 3.2
            raise errors.InvalidHeader("Host")
        req.body = Body(req.body, client.given_up if self.pool.name == "large" else lambda: False)
        super().handle_request(listener, req, client, addr)

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

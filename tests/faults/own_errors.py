"""What the proxy itself refuses is a problem document like the service's own."""

import json
import socket
import threading
from collections import Counter
from collections.abc import Iterator
from typing import Any

import requests

from service.api.problems import TYPES
from tests.faults.instance import instance
from tests.faults.proxy import proxied
from tests.running import ROOT, free_port

QUIET_SECONDS = 2.0
"""After which no further answer is awaited."""
BODY = b"Host: here\r\nContent-Type: application/json\r\nContent-Length: "
SENT = {
    "bad-request": b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
    "bad-request, no request line": b"\x16\x03\x01\r\n\r\n",
    "bad-request, no method": b"get / HTTP/1.1\r\n\r\n",
    "bad-request, headers": b"GET / HTTP/1.1\r\nHost: here\r\n" + b"X-Flood: " + b"x" * 9000 + b"\r\n\r\n",
    "not-found": b"GET /metrics HTTP/1.1\r\nHost: here\r\n\r\n",
    "method-not-allowed": b"TRACE /healthz HTTP/1.1\r\nHost: here\r\n\r\n",
    "body-too-large": b"POST /v1/batches HTTP/1.1\r\n" + BODY + b"1048577\r\n\r\n",
    "uri-too-long": b"GET /" + b"x" * 5000 + b" HTTP/1.1\r\nHost: here\r\n\r\n",
}


def run() -> Iterator[str]:
    with instance(LOG_LEVEL="warning") as one, proxied(one.address) as url:
        for name, sent in SENT.items():
            slug = name.split(",")[0]
            _is_problem(slug, answers(url, sent))
            yield f"{name}: a problem document"
    with proxied(f"127.0.0.1:{free_port()}", ready=503) as url:  # nothing stands behind
        response = requests.get(f"{url}/readyz", timeout=30)
        _is_problem("unavailable", [_parsed(response)])
        assert response.headers["Retry-After"] == "1"
        yield "unavailable: a problem document"
    yield from _rates()


def _rates() -> Iterator[str]:
    rates = (ROOT / "docker" / "nginx" / "rates.conf").read_text()
    with instance(LOG_LEVEL="warning") as one, proxied(one.address, rates=rates) as url:
        met: Counter[int] = Counter()

        def ask() -> None:
            session = requests.Session()
            for _ in range(150):
                response = session.get(f"{url}/healthz", timeout=30)
                met[response.status_code] += 1
                if response.status_code == 429:
                    _is_problem("too-many-requests", [_parsed(response)])
                    assert response.headers["Retry-After"] == "1"

        threads = [threading.Thread(target=ask) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert set(met) == {200, 429}, met
    yield f"too-many-requests: {met[429]} of {met.total()} at once from one address, the rest answered"


Answer = tuple[int, dict[str, str], bytes]


def answers(url: str, sent: bytes) -> list[Answer]:
    """Every HTTP answer to bytes on one connection."""
    host, port = url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=QUIET_SECONDS) as connection:
        connection.sendall(sent)
        return list(_split(b"".join(_received(connection))))


def _received(connection: socket.socket) -> Iterator[bytes]:
    try:
        while chunk := connection.recv(65536):
            yield chunk
    except (TimeoutError, ConnectionResetError):  # it waits for more, or has had enough
        return


def _split(received: bytes) -> Iterator[Answer]:
    while received:
        head, _, rest = received.partition(b"\r\n\r\n")
        line, *fields = head.decode("latin-1").split("\r\n")
        headers = {name.lower(): value.strip() for name, _, value in (field.partition(":") for field in fields)}
        length = int(headers.get("content-length", len(rest)))
        yield int(line.split()[1]), headers, rest[:length]
        received = rest[length:]


def _parsed(response: requests.Response) -> Answer:
    return response.status_code, {k.lower(): v for k, v in response.headers.items()}, response.content


def _is_problem(slug: str, received: Any) -> None:
    ((status, headers, body),) = received
    found = json.loads(body)
    assert status == found["status"] == TYPES[slug].status, (slug, status, found)
    assert found["type"] == f"/problems/{slug}", (slug, found)
    assert headers["content-type"].startswith("application/problem+json"), headers
    assert headers["x-request-id"] == found["request_id"], headers
    assert headers["x-content-type-options"] == "nosniff", headers

"""Shows that proxy and worker refuse by problem documents like the application's own."""

import json
import re
import socket
import threading
from collections import Counter
from collections.abc import Iterator
from hashlib import sha256
from typing import Any

import requests

from service.api.problems import TYPES
from tests.faults.instance import instance
from tests.faults.load import session
from tests.faults.proxy import AS_DEPLOYED, ENOUGH, proxied
from tests.running import ROOT, free_port

QUIET_SECONDS = 2.0
"""After which no further answer is awaited."""
POST = b"POST /v1/batches HTTP/1.1\r\nHost: here\r\nContent-Type: application/json\r\n"
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


KEY = b"a-key-of-these-tests-0123456789-0123456789-0"
CHUNKED = POST + b"Authorization: Bearer " + KEY + b"\r\nTransfer-Encoding: chunked\r\n\r\n"
STRAIGHT = {
    "bad-request, a chunk's size": CHUNKED + b"zz\r\n",
    "bad-request, a chunk's end": CHUNKED + b"2\r\n{}XX\r\n0\r\n\r\n",
    "bad-request, a chunk's extension": CHUNKED + b"2;=\r\n{}\r\n0\r\n\r\n",
    "bad-request, a trailer": CHUNKED + b"2\r\n{}\r\n0\r\nx y: z\r\n\r\n",
    "bad-request, a chunk's size without end": CHUNKED + b"1" * 9000,
    "bad-request, no host": b"GET /healthz HTTP/1.1\r\n\r\n",
    "bad-request, two hosts": b"GET /healthz HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
    "bad-request, no name for a host": b"GET /healthz HTTP/1.1\r\nHost: a b\r\n\r\n",
    "bad-request, an encoding of the transfer": POST + b"Transfer-Encoding: other\r\n\r\n",
    "bad-request, a version": b"GET /healthz HTTP/9.9\r\nHost: here\r\n\r\n",
    "bad-request, a folded header": b"GET /healthz HTTP/1.1\r\nHost: here\r\nX: a\r\n b\r\n\r\n",
    "uri-too-long": b"GET /" + b"x" * 9000 + b" HTTP/1.1\r\nHost: here\r\n\r\n",
    "headers-too-large, one": b"GET /healthz HTTP/1.1\r\nHost: here\r\nX: " + b"x" * 9000 + b"\r\n\r\n",
    "headers-too-large, many": b"GET /healthz HTTP/1.1\r\nHost: here\r\n" + b"X: 1\r\n" * 100 + b"\r\n",
    "expectation-failed": b"GET /healthz HTTP/1.1\r\nHost: here\r\nExpect: more\r\n\r\n",
    "method-not-allowed": b"TRACE /healthz HTTP/1.1\r\nHost: here\r\n\r\n",
    "not-found": b"GET /problems/nothing HTTP/1.1\r\nHost: here\r\n\r\n",
    "unauthorized": b"GET /v1/references/units HTTP/1.1\r\nHost: here\r\n\r\n",
}


def run() -> Iterator[str]:
    with (
        instance(LOG_LEVEL="warning", AUTH="", API_KEYS=f"till:{sha256(KEY).hexdigest()}") as one,
        proxied(one.address, large=one.ports[1]) as url,
    ):
        for name, sent in SENT.items():
            _is_problem(name.split(",")[0], answers(url, sent))
        yield f"{len(SENT)} wrong requests to the proxy: each answered with its problem document"
        for name, sent in STRAIGHT.items():
            _is_problem(name.split(",")[0], answers(one.url, sent))
        yield f"{len(STRAIGHT)} wrong requests to a worker: each answered with its problem document"
        assert not [line for line in one.lines() if line["event"] == "fault"], one.lines()
        yield from _long_without_a_key(url)
    with proxied(f"127.0.0.1:{free_port()}", ready=503) as url:  # nothing stands behind
        response = requests.get(f"{url}/readyz", timeout=30)
        _is_problem("unavailable", [_parsed(response)])
        assert response.headers["Retry-After"] == "1"
        yield "unavailable: a problem document"
    yield from _rates()
    yield from _rate_of_a_key()


def _long_without_a_key(url: str) -> Iterator[str]:
    """Refused by its head: not a byte of its body is sent here."""
    long = {"a long body": b"Content-Length: 900000\r\n", "one of no stated length": b"Transfer-Encoding: chunked\r\n"}
    for name, head in long.items():
        for key in (b"", b"Authorization: Basic eDp5\r\n", b"Authorization: Bearer " + b"x" * 43 + b"\r\n"):
            received = answers(url, POST + head + key + b"\r\n")
            _is_problem("unauthorized", received)
            assert received[0][1]["www-authenticate"] == 'Bearer realm="batch-carbonation"', received
        yield f"{name} without a key that opens: refused before it is sent"


def _rates() -> Iterator[str]:
    with instance(LOG_LEVEL="warning") as one, proxied(one.address, rates=AS_DEPLOYED) as url:
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


def _rate_of_a_key() -> Iterator[str]:
    """One key from any number of addresses; others go on."""
    (all_of_key,) = re.findall(r"zone=key:10m rate=(\d+)r/s", AS_DEPLOYED)
    rates = ENOUGH.replace("zone=key:1m rate=100000r/s", "zone=key:1m rate=10r/s")
    (burst,) = re.findall(r"limit_req zone=key burst=(\d+)", (ROOT / "docker/nginx/nginx.conf").read_text())
    with instance(LOG_LEVEL="warning") as one, proxied(one.address, rates=rates) as url:
        callers = [session(f"127.0.0.{host}") for host in (2, 3, 4)]
        headers = {"Authorization": "Bearer one"}
        met = Counter(
            callers[i % 3].get(f"{url}/healthz", headers=headers, timeout=30).status_code
            for i in range(int(burst) + 200)
        )
        other = session("127.0.0.2").get(f"{url}/healthz", headers={"Authorization": "Bearer other"}, timeout=30)
    assert met[429] > 0, met
    assert other.status_code == 200
    yield f"too-many-requests of one key, {all_of_key} a second: from three addresses refused, another key answered"


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

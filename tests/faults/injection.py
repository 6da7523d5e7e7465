"""Words of a caller that would be headers or lines of the log, sent through the proxy."""

import json
from collections.abc import Iterator
from urllib.parse import quote

import requests

from service.api.openapi import example
from tests.faults.instance import instance
from tests.faults.own_errors import answers
from tests.faults.proxy import proxied

MARK = "marker"
BREAKS = ["\r\n", "\n", "\r", "\r\n\r\n", "%0d%0a", "\u2028", "\u010d\u010a", "\x00", "\x1b[2J"]
FIELDS = ["X-Request-Id", "traceparent", "Accept", "Host", "X-Forwarded-For", "User-Agent", "Authorization", "Origin"]


def run() -> Iterator[str]:
    with instance() as one, proxied(one.address, large=one.ports[1]) as url:
        sent = 0
        for each in BREAKS:
            words = f"x{each}Injected: {MARK}"
            for name in FIELDS:
                head = f"GET /healthz HTTP/1.1\r\nHost: here\r\n{name}: {words}\r\nConnection: close\r\n\r\n"
                _intact(answers(url, head.encode("utf-8", "surrogatepass")), name, each)
                sent += 1
            head = f"GET /v1/{quote(words)}?{quote(words)}=1 HTTP/1.1\r\nHost: here\r\nConnection: close\r\n\r\n"
            _intact(answers(url, head.encode()), "path", each)
            _in_a_body(url, words)
            sent += 2
        lines = one.lines()  # every one of them JSON
        assert MARK not in one.log.read_text(), "the log holds what a caller sent"
        assert all(set(line) <= LOGGED for line in lines), "a line has a field that is not the service's"
    yield f"{sent} requests in {len(FIELDS) + 2} places: no header and no line of the log made, {len(lines)} lines"


LOGGED = {
    "event", "level", "timestamp", "operation", "method", "status", "seconds", "request_id", "problem", "key",
    "trace_id", "parent_id",
}  # fmt: skip


def _intact(received: list[tuple[int, dict[str, str], bytes]], place: str, each: str) -> None:
    """Each answer is whole, and has no header that the caller made."""
    for status, headers, _ in received:
        assert 200 <= status < 500, (place, each, status)
        assert "injected" not in headers, (place, each, headers)
        assert MARK not in "".join(headers.values()), (place, each, headers)


def _in_a_body(url: str, words: str) -> None:
    body = json.dumps({**example("createBatch"), "labels": {words[:30]: words}, words: words})
    response = requests.post(f"{url}/v1/batches", data=body, headers={"Content-Type": "application/json"}, timeout=30)
    assert response.status_code == 422, response.status_code
    assert MARK not in str(response.headers), response.headers

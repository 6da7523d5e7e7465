"""One request that the proxy and the service could read as two (RFC 9112, section 11.2)."""

from collections.abc import Iterator

from tests.faults.instance import instance
from tests.faults.own_errors import answers
from tests.faults.proxy import proxied

HEAD = b"POST /v1/batches HTTP/1.1\r\nHost: here\r\nContent-Type: application/json\r\nConnection: close\r\n"
HIDDEN = b"GET /v1/hidden HTTP/1.1\r\nHost: here\r\n\r\n"
SENT = {
    "length and chunks": HEAD + b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + HIDDEN,
    "chunks, spelt otherwise": HEAD + b"Content-Length: 5\r\nTransfer-Encoding: xchunked\r\n\r\n0\r\n\r\n" + HIDDEN,
    "chunks after a space": HEAD + b"Content-Length: 5\r\nTransfer-Encoding : chunked\r\n\r\n0\r\n\r\n" + HIDDEN,
    "chunks twice": HEAD + b"Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n\r\n0\r\n\r\n" + HIDDEN,
    "two lengths": HEAD + b"Content-Length: 2\r\nContent-Length: 45\r\n\r\n{}" + HIDDEN,
    "two lengths in one": HEAD + b"Content-Length: 2, 45\r\n\r\n{}" + HIDDEN,
    "a signed length": HEAD + b"Content-Length: +2\r\n\r\n{}" + HIDDEN,
    "a negative length": HEAD + b"Content-Length: -1\r\n\r\n{}" + HIDDEN,
    "a length in hexadecimal": HEAD + b"Content-Length: 0x2\r\n\r\n{}" + HIDDEN,
    "a bare line feed": b"POST / HTTP/1.1\nHost: x\nContent-Length: 2\nTransfer-Encoding:\x0bchunked\n\n{}" + HIDDEN,
    "an extension of a chunk": HEAD + b"Transfer-Encoding: chunked\r\n\r\n2;x=\n{}\r\n0\r\n\r\n" + HIDDEN,
    "a chunk without end": HEAD + b"Transfer-Encoding: chunked\r\n\r\nffffffffffffffff2\r\n{}\r\n0\r\n\r\n" + HIDDEN,
}


def run() -> Iterator[str]:
    with instance() as one, proxied(one.address, large=one.ports[1]) as url:
        for name, sent in SENT.items():
            through, direct = answers(url, sent), answers(one.url, sent)
            for way, received in (("proxy", through), ("service", direct)):
                assert len(received) <= 1, f"{name}: the {way} answered {len(received)} requests"
                assert all(400 <= status < 500 for status, _, _ in received), (name, way, received)
        hidden = [line for line in one.lines() if line.get("method") == "GET" and line["operation"] == "none"]
        assert not hidden, f"a hidden request came through: {hidden}"
    yield f"{len(SENT)} ambiguous requests to proxy and service: at most one answer each, nothing hidden came through"

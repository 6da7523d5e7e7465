"""The service as it is deployed: gunicorn on a free loopback port, ended by its own process id."""

import http.client
import json
import os
import re
import signal
import socket
import time
from collections.abc import Iterator

import pytest

from tests import demo
from tests.faults.instance import STOP_SECONDS, instance
from tests.running import ROOT, running


@pytest.fixture(scope="module")
def host() -> Iterator[str]:
    with running() as url:
        yield url.removeprefix("http://")


def chunked(host: str, body: bytes) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection(host, timeout=10)
    connection.request("POST", "/v1/batches", iter([body]), {"Content-Type": "application/json"}, encode_chunked=True)
    return connection.getresponse()


def test_a_body_without_a_length_is_read(host):
    assert chunked(host, b'{"units": "us"}').status == 422


def test_a_body_without_a_length_that_is_too_large_is_refused(host):
    response = chunked(host, b'{"units": "' + b"x" * 1024 * 1024 + b'"}')
    assert response.status == 413
    assert response.headers["Content-Type"] == "application/problem+json"


def test_head_and_body_of_an_answer_come_in_one_piece(host):
    """So that a worker that is killed has sent all of it or nothing, and the proxy can ask another."""
    address, _, port = host.partition(":")
    with socket.create_connection((address, int(port)), timeout=10) as connection:
        connection.sendall(b"GET /healthz HTTP/1.1\r\nHost: here\r\n\r\n")
        assert b"\r\n\r\n{" in connection.recv(65536)


def test_an_answer_without_a_body_is_whole(host):
    connection = http.client.HTTPConnection(host, timeout=10)
    connection.request("HEAD", "/healthz")
    assert connection.getresponse().status == 200


def odd(environ, start_response):
    """Give answers that the service itself has no cause for; a WSGI application of its own."""
    path = environ["PATH_INFO"]
    if path == "/fails":
        raise RuntimeError
    sized = {"/empty": [("Content-Length", "0")], "/readyz": [("Content-Length", "0")]}
    start_response("204 No Content" if path == "/none" else "200 OK", sized.get(path, []))
    return {"/parts": [b"", b"one", b"", b"two"], "/fails-later": failing(b"one"), "/fails-first": failing()}.get(
        path, []
    )


def failing(*parts):
    yield from parts
    raise RuntimeError


@pytest.fixture(scope="module")
def oddly() -> Iterator[str]:
    with running("tests.test_running:odd", WORKERS="1", LOG_LEVEL="critical") as url:
        yield url.removeprefix("http://")


def asked(host: str, path: str) -> tuple[int, dict[str, str], bytes]:
    connection = http.client.HTTPConnection(host, timeout=10)
    connection.request("GET", path)
    response = connection.getresponse()
    return response.status, dict(response.headers), response.read()


@pytest.mark.parametrize(
    "path, status, body", [("/parts", 200, b"onetwo"), ("/empty", 200, b""), ("/none", 204, b""), ("/chunks", 200, b"")]
)
def test_an_answer_is_framed_whatever_it_consists_of(oddly, path, status, body):
    """RFC 9112, section 6; http.client reads it, which is not gunicorn's."""
    found = asked(oddly, path)
    assert (found[0], found[2]) == (status, body)
    assert ("Transfer-Encoding" in found[1]) == (path in ("/parts", "/chunks"))


@pytest.mark.parametrize("path", ["/fails", "/fails-first"])
def test_what_fails_before_anything_is_sent_is_a_problem_document(oddly, path):
    status, headers, body = asked(oddly, path)
    assert (status, headers["Content-Type"]) == (500, "application/problem+json")
    assert json.loads(body)["type"] == "/problems/internal"


def test_an_answer_that_fails_half_way_is_cut_off_and_known_to_be(oddly):
    with pytest.raises(http.client.IncompleteRead) as cut:
        asked(oddly, "/fails-later")
    assert cut.value.partial == b"one"  # and no second head in it
    assert asked(oddly, "/empty")[0] == 200  # by the same worker


def test_nothing_is_set_that_the_worker_would_not_heed():
    stated = re.findall(r"(?m)^(?:def )?(\w+)", (ROOT / "docker" / "gunicorn.conf.py").read_text())
    assert not {"accesslog", "pre_request", "post_request"} & set(stated)


def test_a_port_closes_when_its_own_workers_have_ended():
    """Work that another pool is still at keeps no caller waiting: the proxy asks another replica at once."""
    with instance(LOG_LEVEL="warning") as one:
        (large,) = one.workers("large")
        os.kill(large, signal.SIGSTOP)
        try:
            one.process.terminate()
            deadline = time.monotonic() + STOP_SECONDS
            while one.workers("ordinary") or one.workers("attendant"):
                assert time.monotonic() < deadline
                time.sleep(0.02)
            host, _, port = one.address.partition(":")
            with pytest.raises(ConnectionRefusedError):
                socket.create_connection((host, int(port)), timeout=10)
        finally:
            os.kill(large, signal.SIGCONT)
        assert one.process.wait(timeout=STOP_SECONDS) == 0


def test_the_demo_prints_a_ticket_and_where_the_api_is(capsys):
    assert demo.main() == 0
    printed = capsys.readouterr().out
    assert "BERGAMOT HIGHBALL" in printed
    assert "Never over" in printed
    assert "/docs" in printed
    assert "/openapi.json" in printed

"""The service as it is deployed: gunicorn on a free loopback port, ended by its own process id."""

import http.client
import socket
from collections.abc import Iterator

import pytest

from tests import demo
from tests.running import running


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


def test_the_demo_prints_a_ticket_and_where_the_api_is(capsys):
    assert demo.main() == 0
    printed = capsys.readouterr().out
    assert "BERGAMOT HIGHBALL" in printed
    assert "never over" in printed
    assert "/docs" in printed
    assert "/openapi.json" in printed

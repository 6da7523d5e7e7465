"""The operator's view of the service as it is deployed: metrics, and logs that hold nothing of what callers sent."""

import http.client
import json
import os
import re
import signal
import socket
import time
from collections.abc import Iterator
from hashlib import sha256

import pytest
import requests

from service.api.openapi import example
from service.api.problems import TYPES
from tests.faults.instance import Instance, instance

KEY, TILL, PAST = (f"marker-key-{name}-0123456789-0123456789-0123456789" for name in ("bare", "till", "past"))
JSON = {"Content-Type": "application/json", "Authorization": f"Bearer {KEY}"}
TRACE = "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01"  # the example of W3C Trace Context, section 3.2.2.5
SET_POINTS = "/v1/carbonation/set-points"


def hashed(key: str) -> str:
    return sha256(key.encode()).hexdigest()


HASH = hashed(KEY)


@pytest.fixture(scope="module")
def service() -> Iterator[Instance]:
    named = [f"till:{hashed(TILL)}", f"idle:{'1' * 64}:2999-12-31", f"past:{hashed(PAST)}:2020-02-29"]
    with instance(AUTH="", API_KEY_HASHES=HASH, API_KEYS=", ".join(named)) as one:
        yield one


def post(service: Instance, path: str, body: object, **headers: str) -> requests.Response:
    data = body if isinstance(body, bytes | str) else json.dumps(body)
    return requests.post(service.url + path, data=data, headers={**JSON, **headers}, timeout=10)


def requests_of(service: Instance, operation: str, status: int) -> float:
    name = f'batch_carbonation_requests_total{{operation="{operation}",status="{status}"}}'
    return service.metrics().get(name, 0.0)


def last_line(service: Instance, request_id: str) -> dict:
    (found,) = [line for line in service.lines() if line.get("request_id") == request_id]
    return found


def test_requests_are_counted_by_operation_and_status(service):
    before = [requests_of(service, "createSetPoints", status) for status in (200, 400)]
    for _ in range(20):  # more than one worker can have answered
        assert post(service, SET_POINTS, example("createSetPoints")).ok
    post(service, SET_POINTS, b"{")
    assert [requests_of(service, "createSetPoints", status) for status in (200, 400)] == [before[0] + 20, before[1] + 1]


def test_latency_is_a_histogram(service):
    name = "batch_carbonation_request_seconds"
    before = service.metrics().get(f'{name}_count{{operation="createBatch"}}', 0.0)
    post(service, "/v1/batches", example("createBatch"))
    found = service.metrics()
    assert found[f'{name}_count{{operation="createBatch"}}'] == before + 1
    buckets = [found[key] for key in found if re.match(name + r'_bucket\{.*operation="createBatch"', key)]
    assert len(buckets) == 12
    assert buckets == sorted(buckets)
    assert buckets[-1] == before + 1
    assert 0.0 < found[f'{name}_sum{{operation="createBatch"}}'] < 10.0


def test_refusals_are_counted_by_problem_type(service):
    glass = {**example("createSetPoints"), "vessel": {"material": "glass", "capacity": {"value": 1, "unit": "l"}}}
    slug = post(service, SET_POINTS, glass).json()["type"].rpartition("/")[2]
    assert slug in TYPES
    name = f'batch_carbonation_problems_total{{operation="createSetPoints",type="{slug}"}}'
    before = service.metrics()[name]
    post(service, SET_POINTS, glass)
    assert service.metrics()[name] == before + 1


def test_what_callers_invent_makes_no_new_series(service):
    for path in ("/v1/marker-a", "/v1/marker-b", "/problems/marker-c"):
        requests.get(service.url + path, headers=JSON, timeout=10)
    requests.request("MARKER", service.url + SET_POINTS, headers=JSON, timeout=10)
    assert not [name for name in service.metrics() if "marker" in name.lower()]


def living(service: Instance) -> dict[str, float]:
    pools = ("ordinary", "large", "attendant")
    return {pool: service.metrics()[f'batch_carbonation_workers{{pool="{pool}"}}'] for pool in pools}


def test_a_worker_that_dies_is_marked_and_its_counts_stay(service):
    post(service, "/v1/batches", example("createBatch"))
    before = requests_of(service, "createBatch", 200)
    assert living(service) == {"ordinary": 2, "large": 1, "attendant": 1}
    for pool in ("ordinary", "ordinary", "large", "attendant"):
        service.kill_worker(pool)
    deadline = time.monotonic() + 10
    while living(service) != {"ordinary": 2, "large": 1, "attendant": 1}:  # the server reaps on its next turn
        assert time.monotonic() < deadline
        time.sleep(0.05)
    assert requests_of(service, "createBatch", 200) == before


def test_metrics_are_not_on_the_port_of_callers(service):
    for headers in (JSON, {**JSON, "Host": service.metrics_address}):
        assert requests.get(f"{service.url}/metrics", headers=headers, timeout=10).status_code == 404


@pytest.mark.parametrize("path", ["/", SET_POINTS, "/authorized", "/openapi.json", "/metrics/"])
def test_the_port_of_metrics_has_nothing_else(service, path):
    response = requests.get(f"http://{service.metrics_address}{path}", timeout=10)
    assert (response.status_code, response.content) == (404, b"")
    assert requests.post(f"http://{service.metrics_address}/metrics", timeout=10).status_code == 404
    assert requests.post(f"http://{service.metrics_address}/healthz", timeout=10).status_code == 404


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/metrics"])
def test_probes_and_metrics_do_not_wait_behind_work(service, path):
    """Every worker of the other pools is stopped, as if each had a request that takes for ever."""
    stopped = [*service.workers("ordinary"), *service.workers("large")]
    try:
        for worker in stopped:
            os.kill(worker, signal.SIGSTOP)
        for method in ("GET", "HEAD"):
            assert requests.request(method, f"http://{service.metrics_address}{path}", timeout=5).status_code == 200
        with pytest.raises(requests.Timeout):
            requests.get(f"{service.url}{path}", headers=JSON, timeout=0.3)
    finally:
        for worker in stopped:
            os.kill(worker, signal.SIGCONT)


def test_each_pool_serves_its_own_port_and_stands_back_as_it_should(service):
    asked = f"http://{service.large_address}{SET_POINTS}"
    for worker in service.workers("ordinary"):
        os.kill(worker, signal.SIGSTOP)
    try:
        assert requests.post(asked, json=example("createSetPoints"), headers=JSON, timeout=10).ok
    finally:
        for worker in service.workers("ordinary"):
            os.kill(worker, signal.SIGCONT)
    here = os.getpriority(os.PRIO_PROCESS, 0)
    nice = {
        pool: os.getpriority(os.PRIO_PROCESS, service.workers(pool)[0]) for pool in ("ordinary", "large", "attendant")
    }
    assert nice == {"ordinary": here, "large": min(19, here + 5), "attendant": here}


def test_keys_are_told_apart_by_name(service):
    names = ("till", "idle", "past", f"key-{HASH[:8]}")
    before = service.metrics()
    for key, status in ((KEY, 200), (TILL, 200), (PAST, 401), ("x" * 43, 401)):
        answer = post(service, SET_POINTS, example("createSetPoints"), Authorization=f"Bearer {key}")
        assert answer.status_code == status
        name = {KEY: names[3], TILL: "till", PAST: "past"}.get(key)
        assert last_line(service, answer.headers["X-Request-Id"]).get("key") == name
    after = service.metrics()

    def more(name: str, status: int) -> float:
        series = f'batch_carbonation_key_requests_total{{key="{name}",status="{status}"}}'
        return after.get(series, 0.0) - before.get(series, 0.0)

    assert [more("till", 200), more("past", 401), more(names[3], 200)] == [1, 1, 1]
    used = {name: after[f'batch_carbonation_key_used_timestamp_seconds{{key="{name}"}}'] for name in names}
    assert used["idle"] == 0.0
    assert all(abs(used[name] - time.time()) < 60.0 for name in names if name != "idle")
    # 2020-02-29 was the last day; by `date -u -d 2020-03-01 +%s`
    assert after['batch_carbonation_key_ends_timestamp_seconds{key="past"}'] == 1583020800.0
    assert {key for name in after for key in re.findall(r'key="([^"]*)"', name)} == set(names)  # no caller adds one


def test_a_request_is_one_line_with_its_ids(service):
    post(service, SET_POINTS, example("createSetPoints"), **{"X-Request-Id": "till-4.17", "traceparent": TRACE})
    line = last_line(service, "till-4.17")
    assert line.pop("timestamp")
    assert 0.0 < line.pop("seconds") < 10.0
    assert line == {
        "event": "request", "level": "info", "operation": "createSetPoints", "method": "POST", "status": 200,
        "request_id": "till-4.17", "key": f"key-{HASH[:8]}", "trace_id": TRACE[3:35], "parent_id": TRACE[36:52],
    }  # fmt: skip


def test_a_refusal_names_its_problem(service):
    answer = post(service, "/v1/batches", b"{")
    assert last_line(service, answer.headers["X-Request-Id"])["problem"] == "invalid-json"


# W3C Trace Context, section 3.2: what is not valid is ignored
INVALID_TRACES = [
    "",
    TRACE.upper(),
    "ff" + TRACE[2:],
    TRACE.replace(TRACE[3:35], "0" * 32),
    TRACE.replace(TRACE[36:52], "0" * 16),
    TRACE[:-1],
    TRACE + "x",
]


@pytest.mark.parametrize("sent", INVALID_TRACES)
def test_a_trace_that_is_not_valid_is_left_out(service, sent):
    answer = post(service, SET_POINTS, b"{}", traceparent=sent)
    assert "trace_id" not in last_line(service, answer.headers["X-Request-Id"])


def marked(body: dict) -> dict:
    return {**body, "labels": {"marker-name": "marker-text"}, "marker-field": "marker-value"}


SENT = {
    "labels and an unknown field": ("POST", SET_POINTS, json.dumps(marked(example("createSetPoints"))), {}),
    "a name in a body that is answered": (
        "POST",
        "/v1/batches",
        json.dumps({**example("createBatch"), "labels": {"marker-name": "marker-text"}}),
        {},
    ),
    "a body that is no JSON": ("POST", "/v1/batches", "marker-body", {}),
    "a query": ("POST", "/v1/batches?marker=marker-query", "{}", {}),
    "a path": ("GET", "/v1/marker-path", None, {}),
    "a header": ("GET", "/healthz", None, {"X-Marker": "marker-header", "User-Agent": "marker-agent"}),
    "a wrong key": ("POST", "/v1/batches", "{}", {"Authorization": "Bearer marker-wrong-key-" + "x" * 40}),
    "a method": ("MARKER", "/v1/batches", None, {}),
    "a request id that is none": ("GET", "/healthz", None, {"X-Request-Id": "marker id"}),
    "a trace that is none": ("GET", "/healthz", None, {"traceparent": "marker-trace"}),
}


@pytest.mark.parametrize("method, path, body, headers", SENT.values(), ids=SENT)
def test_nothing_of_what_callers_sent_is_logged(service, method, path, body, headers):
    before = len(service.lines())
    requests.request(method, service.url + path, data=body, headers={**JSON, **headers}, timeout=10)
    assert len(service.lines()) == before + 1
    assert "marker" not in service.log.read_text().lower()


def raw(service: Instance, sent: bytes) -> bytes:
    host, port = service.address.split(":")
    with socket.create_connection((host, int(port)), timeout=10) as connection:
        connection.sendall(sent)
        connection.shutdown(socket.SHUT_WR)
        return b"".join(iter(lambda: connection.recv(65536), b""))


NOT_HTTP = {
    "a request line": b"marker\r\n\r\n",
    "a version": b"GET /marker?marker=1 HTTP/9.9\r\n\r\n",
    "a header name": b"GET / HTTP/1.1\r\nMarker Name: 1\r\n\r\n",
    "a header value": b"GET / HTTP/1.1\r\nHost: marker\x00\r\n\r\n",
    "a folded header": b"GET / HTTP/1.1\r\nHost: x\r\n marker\r\n\r\n",
    "a request line that is too long": b"GET /" + b"marker" * 2000 + b" HTTP/1.1\r\n\r\n",
    "headers without end": b"GET / HTTP/1.1\r\n" + b"Marker: 1\r\n" * 2000 + b"\r\n",
    "an encoding of the transfer": b"POST / HTTP/1.1\r\nTransfer-Encoding: marker\r\n\r\n",
    "a chunk's size": b"POST /v1/batches HTTP/1.1\r\nContent-Type: application/json\r\nAuthorization: Bearer "
    + KEY.encode()
    + b"\r\nTransfer-Encoding: chunked\r\n\r\nmarker\r\n",
    "an expectation": b"GET / HTTP/1.1\r\nExpect: marker\r\n\r\n",
}


@pytest.mark.parametrize("sent", NOT_HTTP.values(), ids=NOT_HTTP)
def test_nothing_of_what_is_not_http_is_logged(service, sent):
    assert raw(service, sent) == b"" or raw(service, sent).startswith(b"HTTP/1.1 ")
    assert service.lines()  # all JSON still
    assert "marker" not in service.log.read_text().lower()


CONTROL = ["\u001b[31mred", "a\tb", "\u0085next", "{0.__class__}", "%s%n", '","status":200,"x":"', "\u202edcba"]


@pytest.mark.parametrize("text", CONTROL, ids=ascii)
@pytest.mark.parametrize("place", ["X-Request-Id", "traceparent", "path"])
def test_no_line_is_forged(service, place, text):
    before = len(service.lines())
    escaped = "".join(f"%{byte:02x}" for byte in f"\r\n{text}".encode())
    connection = http.client.HTTPConnection(service.address, timeout=10)
    connection.putrequest("GET", f"/v1/{escaped}" if place == "path" else "/healthz")
    if place != "path":
        connection.putheader(place, text.encode())
    connection.endheaders()
    connection.getresponse().read()
    added = service.log.read_text().splitlines()[before:]
    assert len(added) <= 1  # none where the server refuses the header itself
    for line in map(json.loads, added):
        assert re.fullmatch("[0-9a-f]{32}", line.get("request_id", "0" * 32))
        assert "trace_id" not in line
    assert "\x1b" not in service.log.read_text()


def test_an_answer_that_is_written_while_it_is_computed_is_timed_to_its_end(service):
    body = example("createRollout")
    body["sites"] = [{**body["sites"][0], "id": f"site-{i}", "altitude": {"value": i, "unit": "m"}} for i in range(60)]
    began = time.monotonic()
    answer = post(service, "/v1/rollouts", body, Accept="application/x-ndjson")
    taken = time.monotonic() - began
    assert answer.ok
    deadline = time.monotonic() + 5
    while not any(line.get("request_id") == answer.headers["X-Request-Id"] for line in service.lines()):
        assert time.monotonic() < deadline
    assert 0.5 * taken < last_line(service, answer.headers["X-Request-Id"])["seconds"] < 1.5 * taken

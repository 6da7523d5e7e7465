"""Many rollouts at once: what is quick goes on beside them, probes are answered, and what waits too long is told so."""

import os
import signal
import socket
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import requests

from docker.worker import WAITS_S
from tests.bench.rollouts import body
from tests.faults.instance import Instance, instance
from tests.faults.load import Outcome, example, load, session
from tests.faults.proxy import proxy

ROLLOUTS, SITES = 60, 500
P99_MS = 100.0
PROBE_S = 1.0
"""Half of what the shortest probe of docker/kubernetes waits."""
ATTACKER = "127.0.0.9"


@dataclass
class Probes:
    """The longest that any probe took [s], and how many there were."""

    longest: float = 0.0
    count: int = 0
    failed: list[str] = field(default_factory=list)


def run() -> Iterator[str]:
    with (
        instance(LOG_LEVEL="warning") as first,
        instance(first, LOG_LEVEL="warning") as second,
        proxy(first.address, second.address, large=first.ports[1]) as front,
    ):
        calls = [example("create-set-points")]
        with load(front.url, calls, callers=4, pause_s=0.02) as alone:
            time.sleep(5.0)
        yield f"alone: {_told(alone)}"
        with load(front.url, calls, callers=4, pause_s=0.02) as beside, probed(first, second) as probes:
            met, seconds = _at_once(front.url)
        yield f"beside {ROLLOUTS} rollouts of {SITES} sites at once, for {seconds:.0f} s: {_told(beside)}"
        yield f"rollouts: {met[200]} answered, {met[503]} told to come again"
        yield f"{probes.count} probes, at most {1e3 * probes.longest:.0f} ms"
        assert not beside.lost, f"failed beside rollouts: {dict(beside.lost)}"
        assert beside.quantile_ms(0.99) < P99_MS, f"p99 of {beside.quantile_ms(0.99):.0f} ms"
        assert set(met) == {200, 503}, met
        assert not probes.failed, probes.failed
        assert probes.longest < PROBE_S, f"a probe took {probes.longest:.1f} s"
        yield f"after it, a rollout of {SITES} sites takes {_one(front.url):.1f} s"
        yield from _left(front.url, first, second)
        yield _waited(first)


def _told(outcome: Outcome) -> str:
    p50, p99 = outcome.quantile_ms(0.5), outcome.quantile_ms(0.99)
    return f"{outcome.total} set-points, {outcome.lost.total()} failed, p50 {p50:.0f} ms, p99 {p99:.0f} ms"


def _at_once(url: str) -> tuple[Counter[int], float]:
    """Begin as many rollouts together; returns how many had each status, and how long it took [s]."""
    met: Counter[int] = Counter()
    asked, together, began = body(SITES, "all different"), threading.Barrier(ROLLOUTS), time.monotonic()

    def ask() -> None:
        together.wait()
        response = session(ATTACKER).post(f"{url}/v1/rollouts", data=asked, headers=JSON, timeout=120)
        met[response.status_code] += 1
        if response.status_code == 503:
            assert response.json()["type"] == "/problems/unavailable"
            assert int(response.headers["Retry-After"]) > 0

    threads = [threading.Thread(target=ask) for _ in range(ROLLOUTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return met, time.monotonic() - began


JSON = {"Content-Type": "application/json"}


@contextmanager
def probed(*instances: Instance) -> Iterator[Probes]:
    """Both probes of each instance, as Kubernetes asks them, several times a second, until the block ends."""
    probes, over = Probes(), threading.Event()

    def run() -> None:
        while not over.wait(0.1):
            for one in instances:
                for path in ("/healthz", "/readyz"):
                    began = time.monotonic()
                    response = requests.get(f"http://{one.metrics_address}{path}", timeout=60)
                    probes.longest = max(probes.longest, time.monotonic() - began)
                    probes.count += 1
                    if not response.ok:
                        probes.failed.append(f"{path}: {response.status_code}")

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield probes
    finally:
        over.set()
        thread.join()


def _one(url: str) -> float:
    began = time.monotonic()
    response = requests.post(f"{url}/v1/rollouts", data=body(SITES, "all different"), headers=JSON, timeout=60)
    assert response.status_code == 200, response.status_code
    return time.monotonic() - began


def _left(url: str, *instances: Instance) -> Iterator[str]:
    """Callers that leave before their rollout's turn cost no work."""
    before = _rollouts(*instances)
    asked = body(SITES, "all different")
    head = f"POST /v1/rollouts HTTP/1.1\r\nHost: here\r\nContent-Type: application/json\r\nContent-Length: {len(asked)}"
    host, port = url.removeprefix("http://").split(":")
    connections = [socket.create_connection((host, int(port)), source_address=(ATTACKER, 0)) for _ in range(16)]
    for connection in connections:
        connection.sendall(head.encode() + b"\r\n\r\n" + asked)
    time.sleep(0.5)
    for connection in connections:
        connection.close()
    taken = _one(url)
    done = _rollouts(*instances) - before - 1
    yield f"of 16 callers that left after 0.5 s, {done:.0f} were computed for; the next took {taken:.1f} s"
    assert done < 8, f"{done:.0f} rollouts computed for nobody"


def _waited(one: Instance) -> str:
    """Show that a request which waited for too long is not begun any more, with no proxy in front to say so."""
    (worker,) = one.workers("large")
    answered: list[requests.Response] = []

    def ask() -> None:
        url = f"http://{one.large_address}/v1/rollouts"
        answered.append(requests.post(url, data=body(SITES, "all different"), headers=JSON, timeout=60))

    thread = threading.Thread(target=ask)
    os.kill(worker, signal.SIGSTOP)
    thread.start()
    time.sleep(WAITS_S + 1.0)
    os.kill(worker, signal.SIGCONT)
    thread.join()
    (response,) = answered
    assert response.status_code == 503, response.status_code
    assert response.json()["type"] == "/problems/unavailable"
    assert response.headers["Retry-After"] == "5"
    return f"what waited {WAITS_S + 1.0:.0f} s for a worker gets 503"


def _rollouts(*instances: Instance) -> float:
    name = 'batch_carbonation_requests_total{operation="createRollout",status="200"}'
    return sum(one.metrics().get(name, 0.0) for one in instances)

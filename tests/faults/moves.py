"""Replicas that come and go under load, by the steps of a rolling upgrade and of a rollback: nothing is lost."""

import time
from collections.abc import Iterator
from contextlib import ExitStack

import requests

from tests.faults.instance import Instance, instance
from tests.faults.load import Outcome, example, load, until
from tests.faults.proxy import Proxy, proxy

BETWEEN = 300
"""Requests between two steps."""
LEFT_S = 2.0
"""The time in which the proxy has learnt where replicas are; docker/kubernetes waits 5 s, docker/upgrade 3."""
DEAD = "127.0.0.200"


def run() -> Iterator[str]:
    calls = [example("create-set-points"), example("create-batch")]
    with ExitStack() as stack:
        first = stack.enter_context(instance(LOG_LEVEL="warning"))
        second = stack.enter_context(instance(first, LOG_LEVEL="warning"))
        front = stack.enter_context(proxy(first.address, second.address, large=first.ports[1]))
        with load(front.url, calls, callers=8) as outcome:
            until(outcome, BETWEEN)
            third, fourth = _kubernetes(stack, front, [first, second], outcome)
            yield f"rolling upgrade as by Kubernetes: {_so_far(outcome)}"
            _kubernetes(stack, front, [third, fourth], outcome)
            yield f"and back: {_so_far(outcome)}"
            for name in ("rolling upgrade as by docker/upgrade", "and back"):
                _compose(stack, front, outcome)
                yield f"{name}: {_so_far(outcome)}"
        assert not outcome.lost, f"lost: {dict(outcome.lost)}"
        yield _one_dead(front)
        yield _nobody(front)


RUNNING: dict[str, Instance] = {}
"""Instances by their host."""


def _begun(stack: ExitStack, beside: Instance) -> Instance:
    one = stack.enter_context(instance(beside, LOG_LEVEL="warning"))
    RUNNING[one.host] = one
    return one


def _kubernetes(stack: ExitStack, front: Proxy, old: list[Instance], outcome: Outcome) -> list[Instance]:
    """A new one more, then an old one less: maxSurge 1, maxUnavailable 0; an old one leaves the list before it ends."""
    new: list[Instance] = []
    for leaving in old:
        new.append(_begun(stack, (new or old)[-1]))
        front.names.hosts.append(new[-1].host)
        front.names.hosts.remove(leaving.host)
        time.sleep(LEFT_S)
        assert leaving.stop() == 0, "a graceful stop ends with 0"
        until(outcome, outcome.total + BETWEEN)
    return new


def _compose(stack: ExitStack, front: Proxy, outcome: Outcome) -> None:
    """An old one less, then a new one more, at another address: there are two replicas, and docker has no third."""
    for host in list(front.names.hosts):
        assert RUNNING[host].stop() == 0, "a graceful stop ends with 0"
        front.names.hosts.remove(host)
        until(outcome, outcome.total + BETWEEN)
        front.names.hosts.append(_begun(stack, RUNNING[max(RUNNING, key=_number)]).host)
        time.sleep(LEFT_S)


def _number(host: str) -> int:
    return int(host.rpartition(".")[2])


def _so_far(outcome: Outcome) -> str:
    return f"{outcome.total} requests, {outcome.lost.total()} lost"


def _one_dead(front: Proxy) -> str:
    """A name that stands for a dead replica as well."""
    front.names.hosts = [front.names.hosts[0], DEAD]
    time.sleep(LEFT_S)
    call = example("create-set-points")
    headers = {"Content-Type": "application/json"}
    met = [
        requests.post(front.url + call.path, data=call.body, headers=headers, timeout=30).status_code for _ in range(40)
    ]
    assert met == 40 * [200], met
    return "one of two dead, its name still there: 40 of 40 answered"


def _nobody(front: Proxy) -> str:
    """A name that stands for nobody, and then for somebody again: no restart is needed."""
    alive = front.names.hosts[0]
    front.names.hosts = []
    time.sleep(LEFT_S)
    response = requests.get(f"{front.url}/readyz", timeout=30)
    assert response.json()["type"] == "/problems/unavailable", response.text
    front.names.hosts = [alive]
    time.sleep(LEFT_S)
    assert requests.get(f"{front.url}/readyz", timeout=30).ok
    return "nobody behind the name: 503; somebody again: 200, without a restart"

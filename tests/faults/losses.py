"""Workers killed, both instances restarted in turn, one stopped for good: nobody in front of the proxy notices."""

import signal
from collections.abc import Iterator

from tests.faults.instance import Instance, instance
from tests.faults.load import Outcome, example, load, until
from tests.faults.proxy import proxied

REQUESTS = 10_000
BETWEEN = 400
"""Requests between two faults."""


def run() -> Iterator[str]:
    calls = [example("create-set-points"), example("create-batch")]
    with (
        instance(LOG_LEVEL="warning") as first,
        instance(first, LOG_LEVEL="warning") as second,
        proxied(first.address, second.address, large=first.ports[1]) as url,
        load(url, calls, callers=8) as outcome,
    ):
        until(outcome, BETWEEN)
        for what in faults(first, second):
            until(outcome, outcome.total + BETWEEN)
            yield f"{what}: {_so_far(outcome)}"
        until(outcome, REQUESTS)
    yield f"in all: {_so_far(outcome)}, p99 {outcome.quantile_ms(0.99):.0f} ms"
    assert not outcome.lost, f"lost: {dict(outcome.lost)}"


def faults(first: Instance, second: Instance) -> Iterator[str]:
    """One fault after the other."""
    for one in (first, second):
        for _ in range(2):
            one.kill_worker()
    yield "kill -9 of each worker"
    for one in (first, second):
        assert one.stop() == 0, "a graceful stop ends with 0"
        one.start()
    yield "rolling restart"
    first.stop(signal.SIGKILL)
    first.start()
    yield "kill -9 of a whole instance"
    assert second.stop() == 0, "a graceful stop ends with 0"
    yield "SIGTERM under load, the other alone"


def _so_far(outcome: Outcome) -> str:
    return f"{outcome.total} requests, {outcome.lost.total()} lost"

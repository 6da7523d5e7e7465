"""How long callers wait behind the proxy at 70 % of what it can carry."""

from collections.abc import Iterator
from pathlib import Path

from tests.bench.wrk import AIMED_AT, Rate, drive
from tests.faults.instance import instance
from tests.faults.proxy import proxied

CALLERS = 64
LOAD = 0.70
AIM_MS = 25.0
SECONDS = 10


def run() -> Iterator[str]:
    """A line for each request that has an aim."""
    yield f"{'':34}{'most/s':>8}{'req/s':>8}{'load':>7}{'p50 ms':>9}{'p99 ms':>9}{'aim':>7}"
    with instance() as service, proxied(service.address) as url:
        for asked in AIMED_AT:
            most = drive(url + asked.path, asked.file, connections=16, seconds=SECONDS)
            rate = _loaded(url + asked.path, asked.file, LOAD * most.per_second)
            share = rate.per_second / most.per_second
            numbers = f"{most.per_second:8.0f}{rate.per_second:8.0f}{share:7.2f}{rate.p50_ms:9.1f}{rate.p99_ms:9.1f}"
            yield f"{asked.name:34}{numbers}{AIM_MS:7.0f}"


def _loaded(url: str, file: Path, per_second: float) -> Rate:
    """So many requests a second of callers that pause at random; the pause is found in two steps."""
    pause_ms = 1e3 * CALLERS / per_second
    for _ in range(2):
        tried = drive(url, file, connections=CALLERS, pause_ms=pause_ms, seconds=SECONDS // 2)
        pause_ms = max(1.0, pause_ms + 1e3 * CALLERS * (1.0 / per_second - 1.0 / tried.per_second))
    return drive(url, file, connections=CALLERS, pause_ms=pause_ms, seconds=SECONDS)

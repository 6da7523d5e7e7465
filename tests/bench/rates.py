"""Requests per second as a share of what Flask reaches with a constant answer, each pair one right after the other."""

from collections.abc import Iterator

from tests.bench.wrk import AIMED_AT, Asked, drive
from tests.clients.operations import EXAMPLES, operations
from tests.faults.instance import instance
from tests.running import running

HEAD = f"{'':34}{'req/s':>8}{'share':>8}{'aim':>7}{'p50 ms':>9}{'p99 ms':>9}"


def run() -> Iterator[str]:
    """A line for each request: as deployed, with a line of log and the metrics of each, straight at the workers."""
    yield HEAD
    with instance() as service, running("tests.bench.constant:create_app()") as constant:
        for asked in (*AIMED_AT, *_examples()):
            yardstick = drive(f"{constant}/", asked.file)
            rate = drive(service.url + asked.path, asked.file)
            share = rate.per_second / yardstick.per_second
            aim = f"{asked.aim:7.2f}" if asked.aim else f"{'':7}"
            numbers = f"{rate.per_second:8.0f}{share:8.2f}{aim}{rate.p50_ms:9.1f}{rate.p99_ms:9.1f}"
            yield f"{asked.name:34}{numbers}"


def _examples() -> Iterator[Asked]:
    for operation in operations():
        if operation.body is not None:
            (file,) = EXAMPLES.glob(f"{operation.name}.*")
            yield Asked(f"example of {operation.name}", operation.path, file, 0.0)

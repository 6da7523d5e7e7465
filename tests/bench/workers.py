"""What more workers bring: requests per second and memory at 1, 2 and 4 of them."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

from tests.bench.wrk import SET_POINTS, drive
from tests.faults.instance import Instance, instance

WORKERS = (1, 2, 4)
CALLERS = 8


def run() -> Iterator[str]:
    """A line for each number of workers, straight at them; the callers are on the same cores."""
    of = f"workers on {os.cpu_count()} cores"
    yield f"{of:34}{'req/s':>8}{'each':>8}{'p50 ms':>9}{'p99 ms':>9}{'MB':>7}"
    for workers in WORKERS:
        with instance(WORKERS=str(workers)) as service:
            rate = drive(service.url + SET_POINTS.path, SET_POINTS.file, connections=CALLERS)
            numbers = f"{rate.per_second:8.0f}{rate.per_second / workers:8.0f}{rate.p50_ms:9.1f}{rate.p99_ms:9.1f}"
            yield f"{workers:<34}{numbers}{_memory_mb(service):7.0f}"


def _memory_mb(service: Instance) -> float:
    """Memory of all its processes, what they share counted once: the proportional set size of proc(5)."""
    return sum(map(_pss_mb, (service.process.pid, *service.workers())))


def _pss_mb(pid: int) -> float:
    (kb,) = re.findall(r"(?m)^Pss:\s+(\d+)", Path(f"/proc/{pid}/smaps_rollup").read_text())
    return int(kb) / 1024.0

"""CPU time as requests grow by components, events and sites; 1.0 is growth in proportion."""

import json
import math
import time
from collections.abc import Callable, Iterator
from typing import Any

from service.api.app import OPERATIONS
from service.api.openapi import example
from tests.bench import worst
from tests.bench.in_process import client

SERIES: dict[str, tuple[str, tuple[int, ...], Callable[[int], dict[str, Any]]]] = {
    "components": ("createBatch", (5, 10, 20, 40), lambda n: worst.wide(example("createBatch"), n, 0)),
    "events": (
        "createRegasState",
        (500, 1000, 2500, 5000),
        lambda n: worst.logged(example("createRegasState"), "read", events=n),
    ),
    "sites": ("createRollout", (20, 50, 200, 500), lambda n: worst.sites(example("createRollout"), n)),
}


def run() -> Iterator[str]:
    """A line for each series."""
    asking = client()
    paths = {operation.operation_id: operation.path for operation in OPERATIONS}
    for name, (operation, sizes, body) in SERIES.items():
        spent = [_cpu_ms(asking, paths[operation], json.dumps(body(size)).encode()) for size in sizes]
        power = math.log(spent[-1] / spent[-2]) / math.log(sizes[-1] / sizes[-2])
        told = ", ".join(f"{size}: {ms:.0f}" for size, ms in zip(sizes, spent, strict=True))
        yield f"{name:12} CPU ms {told}; {spent[-1] / sizes[-1]:.2f} ms each at last; growth at last {power:.2f}"


def _cpu_ms(asking: Any, path: str, body: bytes) -> float:
    best = math.inf
    for _ in range(3):
        began = time.process_time()
        response = asking.post(path, data=body, content_type="application/json")
        answer = response.get_data()
        best = min(best, 1e3 * (time.process_time() - began))
        assert response.status_code == 200, answer[:500]
    return best

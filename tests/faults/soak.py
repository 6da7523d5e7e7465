"""Minutes of everything at once, and whether the memory of the workers stays flat."""

import os
import re
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from service.api.app import OPERATIONS
from service.api.endpoint import MEDIA_TYPES
from tests.asking import TAKING_JSON
from tests.faults.instance import instance
from tests.faults.load import Call, examples, load
from tests.faults.proxy import proxied
from tests.running import ROOT

SECONDS = float(os.environ.get("SOAK_SECONDS", "300"))
WARM_UP = 0.4
"""Share of the time in which caches fill and the heap finds its size."""
BOUND_BYTES = 256.0
"""Growth for each request; a small dictionary and its key, kept, would be more. The heap itself grows by steps."""


def run() -> Iterator[str]:
    with instance(LOG_LEVEL="warning") as one, proxied(one.address, large=one.ports[1]) as url:
        all_of_them, began = one.workers(), time.monotonic()
        samples: list[tuple[float, dict[str, float]]] = []
        with load(url, traffic(), callers=4) as outcome:
            while (now := time.monotonic() - began) < SECONDS:
                samples.append((now, {pool: sum(map(_resident_kb, one.workers(pool))) for pool in POOLS}))
                time.sleep(min(1.0, SECONDS / 60.0))
        assert one.workers() == all_of_them, f"a worker was replaced: {one.lines()[-5:]}"
    assert not outcome.lost, f"not answered as they were to be: {dict(outcome.lost)}"
    yield f"{outcome.total} requests in {SECONDS:.0f} s, none lost, p99 {outcome.quantile_ms(0.99):.0f} ms"
    settled = [(now, sizes) for now, sizes in samples if now > WARM_UP * SECONDS]
    for pool, share in POOLS.items():
        slope = _slope([now for now, _ in settled], [sizes[pool] for _, sizes in settled])
        each = 1024.0 * slope * SECONDS / (share * outcome.total)
        first, last = settled[0][1][pool] / 1024.0, settled[-1][1][pool] / 1024.0
        grown = f"{60.0 * slope:+.0f} kB a minute, {each:+.0f} bytes a request"
        yield f"{pool}: {first:.1f} MB, then {last:.1f} MB; {grown}"
        assert each < BOUND_BYTES, f"grows by {each:.0f} bytes a request, over {BOUND_BYTES:.0f}"


def traffic() -> list[Call]:
    """Every example, in every form, and requests that are refused in every way."""
    forms = [
        replace(call, accept=MEDIA_TYPES[form])
        for call in examples()
        for operation in OPERATIONS
        if operation.path == call.path
        for form in operation.further_forms
    ]
    wrong = [Call(operation.path, b'{"units": 3, "nonsense": [1]}', status=422) for operation in TAKING_JSON]
    return [*examples(), *forms, *wrong, Call("/v1/batches", b"{", status=400), Call("/v1/nowhere", b"{}", status=404)]


LARGE = re.findall(r"(?m)^    (/v1/\S+) 1;$", (ROOT / "docker" / "nginx" / "large.conf").read_text())
_OF_LARGE = sum(call.path in LARGE for call in traffic()) / len(traffic())
POOLS = {"ordinary": 1.0 - _OF_LARGE, "large": _OF_LARGE}
"""Each pool's share of the traffic."""


def _resident_kb(process: int) -> float:
    pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1024.0


def _slope(x: Sequence[float], y: Sequence[float]) -> float:
    """Return the slope of the straight line through the points, by least squares."""
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    above = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True))
    return above / sum((a - mean_x) ** 2 for a in x)

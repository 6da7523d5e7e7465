"""CPU and memory of a rollout of ten components at 1, 50 and 500 sites. `python -m tests.bench.rollouts`"""

import gc
import json
import sys
import time
from copy import deepcopy
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient

from service.api.openapi import example
from tests.bench.in_process import client

COMPONENTS = 10
SITES = (1, 50, 500)
CASES = ("all different", "without a shift", "all alike")
FORMS = ("json", "ndjson", "csv")


def main() -> None:
    asking = client()
    for form in FORMS:
        _spent(asking, body(2, CASES[0]), form)  # what is loaded once
    print(f"{'sites':18}{'form':8}{'number':>7}{'ms a site':>11}{'MB answer':>11}{'MB more':>9}")
    for case in CASES:
        for form in FORMS:
            for count in SITES:
                seconds, sent, more = _spent(asking, body(count, case), form)
                numbers = f"{count:7d}{1000.0 * seconds / count:11.2f}{sent / 1e6:11.2f}{more / 1e6:9.1f}"
                print(f"{case:18}{form:8}{numbers}", flush=True)


def body(count: int, case: str) -> bytes:
    """A rollout of the example's spec, made longer, to so many sites like its station."""
    asked: dict[str, Any] = example("createRollout")
    components = asked["spec"]["components"]
    line = {"amount": {"value": 4, "unit": "ml"}, "abv": 10, "sugar": {"value": 100, "unit": "g/l"}, "allergens": []}
    components[1:1] = [{"name": f"line {i}", **line} for i in range(COMPONENTS - len(components))]
    station = asked["sites"][-1] | {"warmest_room": {"value": 25, "unit": "c"}}
    asked["sites"] = [{**deepcopy(station), "id": f"site {i}"} for i in range(count)]
    if case != "all alike":
        for i, site in enumerate(asked["sites"]):
            site["altitude"]["value"], site["vessels"][0]["count"] = 3 * i, 1 + i % 12
            site["scale"]["resolution"]["value"] = (0.1, 1, 5)[i % 3]
    if case == "without a shift":
        del asked["standard"]["shift"]
    return json.dumps(asked).encode()


def _spent(asking: FlaskClient, asked: bytes, form: str) -> tuple[float, int, float]:
    """Seconds of this process, bytes of the answer, and how much memory rose above where it was [bytes]."""
    gc.collect()
    Path("/proc/self/clear_refs").write_text("5")  # the peak counts from here on; see proc(5)
    before, begun = _peak(), time.process_time()
    answer = asking.post(f"/v1/rollouts?format={form}", data=asked, content_type="application/json", buffered=False)
    sent = sum(len(part) for part in answer.iter_encoded())
    seconds = time.process_time() - begun
    if answer.status_code != 200:
        sys.exit(f"{answer.status_code}: {answer.text[:300]}")
    return seconds, sent, _peak() - before


def _peak() -> float:
    status = Path("/proc/self/status").read_text()
    return 1024.0 * int(next(line for line in status.splitlines() if line.startswith("VmHWM")).split()[1])


if __name__ == "__main__":
    main()

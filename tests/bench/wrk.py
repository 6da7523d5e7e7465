"""wrk, and the requests that it is given."""

import subprocess
from dataclasses import dataclass
from pathlib import Path

from tests.clients.operations import EXAMPLES
from tests.running import ROOT

REQUESTS = ROOT / "tests" / "bench" / "requests"
SCRIPT = "tests/bench/post.lua"
SECONDS = 5


@dataclass(frozen=True)
class Rate:
    """The results of wrk."""

    per_second: float
    p50_ms: float
    p99_ms: float


@dataclass(frozen=True)
class Asked:
    """A request of the bench, and the share of a constant answer that it aims at."""

    name: str
    path: str
    file: Path
    aim: float


SET_POINTS = Asked("set-points, five temperatures", "/v1/carbonation/set-points", REQUESTS / "set-points.json", 0.40)
BATCHES = Asked("batches, eight components", "/v1/batches", REQUESTS / "batches.json", 0.30)
PREP_SHEET = Asked("prep sheet, JSON", "/v1/prep-sheets", EXAMPLES / "create-prep-sheet.json", 0.20)
AIMED_AT = (SET_POINTS, BATCHES, PREP_SHEET)


def drive(url: str, file: Path, *, connections: int = 4, pause_ms: float = 0.0, seconds: int = SECONDS) -> Rate:
    """Post a file again and again.

    pause_ms: of each connection between an answer and the next request, on average [ms]
    raises: RuntimeError if any request fails
    """
    command = ["wrk", "--threads=1", f"--connections={connections}", f"--duration={seconds}s", f"--script={SCRIPT}"]
    done = subprocess.run(
        [*command, url, "--", str(file), str(pause_ms)], check=True, capture_output=True, text=True, cwd=ROOT
    )
    *numbers, failed = done.stdout.splitlines()[-1].split()
    if failed != "0":
        raise RuntimeError(f"{url}: {failed} requests failed\n{done.stdout}")
    return Rate(*map(float, numbers))

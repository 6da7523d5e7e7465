"""Requests per second of every example, as a share of what Flask reaches with a constant answer in the same run."""

import subprocess
from dataclasses import dataclass

from tests.clients.operations import EXAMPLES, operations
from tests.running import running

SCRIPT = "tests/bench/post.lua"
SECONDS = 3
CONNECTIONS = 4


@dataclass(frozen=True)
class Rate:
    per_second: float
    p50_ms: float
    p99_ms: float


def main() -> None:
    print(f"{'':32}{'req/s':>8}{'share':>8}{'p50 ms':>9}{'p99 ms':>9}")
    with running() as service, running("tests.bench.constant:create_app()") as constant:
        for operation in (o for o in operations() if o.body is not None):
            example = str(EXAMPLES / f"{operation.name}.json")
            yardstick = _drive(f"{constant}/", example)
            rate = _drive(service + operation.path, example)
            share = rate.per_second / yardstick.per_second
            numbers = f"{rate.per_second:8.0f}{share:8.2f}{rate.p50_ms:9.1f}{rate.p99_ms:9.1f}"
            print(f"{operation.name:32}{numbers}", flush=True)


def _drive(url: str, example: str) -> Rate:
    command = ["wrk", "--threads=1", f"--connections={CONNECTIONS}", f"--duration={SECONDS}s", f"--script={SCRIPT}"]
    done = subprocess.run([*command, url, "--", example], check=True, capture_output=True, text=True)
    *numbers, failed = done.stdout.splitlines()[-1].split()
    if failed != "0":
        raise RuntimeError(f"{url}: {failed} requests failed\n{done.stdout}")
    return Rate(*map(float, numbers))


if __name__ == "__main__":
    main()

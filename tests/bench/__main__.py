"""How fast the service is, in one run on this machine. `make bench`; with names, those parts alone."""

import sys
from collections.abc import Callable, Iterator

from tests.bench.behind import run as behind
from tests.bench.each import run as each
from tests.bench.growth import run as growth
from tests.bench.rates import run as rates
from tests.bench.stack import run as stack
from tests.bench.workers import run as workers

PARTS: dict[str, tuple[str, Callable[[], Iterator[str]]]] = {
    "rates": ("Straight at two workers, four connections; share of Flask answering a constant", rates),
    "stack": ("The same core behind FastAPI and pydantic, two workers, four connections", stack),
    "behind": ("Behind nginx at 70 % of the load it carries, 64 callers that pause at random", behind),
    "workers": ("Set-points, by the number of workers", workers),
    "each": ("CPU and memory of one request of each operation, in process", each),
    "growth": ("Growth, in process", growth),
}


def main(*names: str) -> None:
    for name in names or PARTS:
        title, run = PARTS[name]
        print(f"\n{title}")
        for line in run():
            print(line, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])

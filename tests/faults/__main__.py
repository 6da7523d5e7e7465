"""Scenarios that the service survives, on real processes. `make fault-test`; with names, those scenarios alone."""

import sys
import time
from collections.abc import Callable, Iterator

from tests.faults.contract import run as contract
from tests.faults.fuzz import run as fuzz
from tests.faults.injection import run as injection
from tests.faults.losses import run as losses
from tests.faults.memory import run as memory
from tests.faults.moves import run as moves
from tests.faults.own_errors import run as own_errors
from tests.faults.patterns import run as patterns
from tests.faults.pools import run as pools
from tests.faults.slow import run as slow
from tests.faults.smuggling import run as smuggling
from tests.faults.soak import run as soak
from tests.faults.tls import run as tls

SCENARIOS: dict[str, Callable[[], Iterator[str]]] = {
    "losses": losses,
    "moves": moves,
    "slow": slow,
    "memory": memory,
    "pools": pools,
    "own-errors": own_errors,
    "injection": injection,
    "smuggling": smuggling,
    "tls": tls,
    "patterns": patterns,
    "contract": contract,
    "fuzz": fuzz,
    "soak": soak,
}
"""Each yields what it found, line by line, and raises AssertionError where that is not what is promised."""


def main(*names: str) -> int:
    """Run the scenarios, and print a table of them; returns how many failed."""
    ended: list[tuple[str, bool, float]] = []
    for name in names or SCENARIOS:
        began, held = time.monotonic(), True
        print(f"{name}:", flush=True)
        try:
            for line in SCENARIOS[name]():
                print(f"  {line}", flush=True)
        except AssertionError as error:
            held = False
            print(f"  FAILED: {error}", flush=True)
        ended.append((name, held, time.monotonic() - began))
    print(f"\n{'scenario':12}{'seconds':>8}  result")
    for name, held, seconds in ended:
        print(f"{name:12}{seconds:8.0f}  {'as promised' if held else 'FAILED'}")
    return sum(not held for _, held, _ in ended)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))

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
    """Run the scenarios; returns how many failed."""
    failed = 0
    for name in names or SCENARIOS:
        began = time.monotonic()
        print(f"{name}:", flush=True)
        try:
            for line in SCENARIOS[name]():
                print(f"  {line}", flush=True)
        except AssertionError as error:
            failed += 1
            print(f"  FAILED: {error}", flush=True)
        print(f"  ({time.monotonic() - began:.0f} s)", flush=True)
    return failed


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))

"""Callers that make the proxy keep what they send, or what they do not read; its memory, and what others notice."""

import os
import re
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

from tests.faults.instance import instance
from tests.faults.load import example, load
from tests.faults.proxy import AS_DEPLOYED, Proxy, proxy
from tests.faults.slow import Siege, besieged
from tests.running import ROOT, START_SECONDS

ATTACKERS = ("127.0.0.2", "127.0.0.3")
BYSTANDER = "127.0.0.4"
EACH = 99
SECONDS = 8.0
P99_MS = 250.0
LARGEST = b"GET /docs/swagger-ui-bundle.js HTTP/1.1\r\nHost: here\r\n\r\n"
FORM = b"Host: here\r\nContent-Type: application/json\r\n"


def sieges() -> list[Siege]:
    sheet = example("create-prep-sheet")
    return [
        Siege("1 MiB, the last byte withheld", _post("/v1/prep-sheets", b" " * (1 << 20), 1), every_s=1.0),
        Siege("19 kB, the last byte withheld", _post("/v1/prep-sheets", b" " * 19_000, 1), every_s=1.0),
        Siege("the largest page, not read", LARGEST, every_s=1.0),
        Siege("prep sheets, not read", _post(sheet.path, sheet.body, 0), every_s=1.0),
    ]


def _post(path: str, body: bytes, withheld: int) -> bytes:
    head = f"POST {path} HTTP/1.1\r\n".encode() + FORM + f"Content-Length: {len(body)}\r\n\r\n".encode()
    return head + body[: len(body) - withheld]


def run() -> Iterator[str]:
    with instance(LOG_LEVEL="warning") as one:
        for together in [*([siege] for siege in sieges()), sieges()]:
            with proxy(one.address, large=one.ports[1], rates=AS_DEPLOYED) as front:
                yield _beside(front, together)
        yield from _after_a_death(one.address, one.ports[1])


def _beside(front: Proxy, together: list[Siege]) -> str:
    sockets = _sockets()
    with ExitStack() as attack:
        for siege in together:
            attack.enter_context(besieged(front.address, siege, EACH, ATTACKERS))
        most = 0.0
        with load(front.url, [example("create-set-points")], callers=4, pause_s=0.05, source=BYSTANDER) as outcome:
            began = time.monotonic()
            while time.monotonic() - began < SECONDS:
                most = max(most, _megabytes(front) + _sockets() - sockets)
                time.sleep(0.1)
    name = together[0].name if len(together) == 1 else "all of these"
    p99 = outcome.quantile_ms(0.99)
    assert not outcome.lost, f"failed beside {name}: {dict(outcome.lost)}"
    assert p99 < P99_MS, f"p99 of {p99:.0f} ms beside {name}"
    assert most < _limit(), f"{most:.0f} MB beside {name}, over {_limit():.0f}"
    return (
        f"{name}: {len(together) * len(ATTACKERS)} x {EACH} connections; the proxy takes at most {most:.0f} of "
        f"{_limit():.0f} MB; {outcome.total} ordinary requests, none failed, p99 {p99:.0f} ms"
    )


def _limit() -> float:
    """Return the memory limit of the proxy's container [MB]."""
    proxy_service = (ROOT / "docker" / "compose.yaml").read_text().partition("  proxy:")[2]
    (megabytes,) = re.findall(r"mem_limit: (\d+)m", proxy_service)
    return float(megabytes)


def _megabytes(front: Proxy) -> float:
    """Add up what its processes hold, and the files that they have open in a folder that is memory as well [MB]."""
    held, files = 0, {}
    for process in front.processes():
        told = Path(f"/proc/{process}/smaps_rollup").read_text()
        held += 1024 * int(re.findall(r"(?m)^Pss: +(\d+) kB", told)[0])
        for opened in Path(f"/proc/{process}/fd").iterdir():
            try:
                if str(front.folder) in str(opened.readlink()):
                    found = opened.stat()
                    files[found.st_ino] = 512 * found.st_blocks
            except FileNotFoundError:  # closed meanwhile
                continue
    return (held + sum(files.values())) / 2**20


def _sockets() -> float:
    """Return what the kernel keeps of all connections here [MB]; a container's own count as its memory."""
    (pages,) = re.findall(r"(?m)^TCP: .* mem (\d+)$", Path("/proc/net/sockstat").read_text())
    return int(pages) * os.sysconf("SC_PAGE_SIZE") / 2**20


def _after_a_death(address: str, large: int) -> Iterator[str]:
    """A process of the proxy that is killed leaves counts of limit_conn: the proxy ends, and is started again."""
    with (
        proxy(address, large=large, rates=AS_DEPLOYED) as front,
        besieged(front.address, sieges()[1], EACH, ATTACKERS[:1]),
    ):
        time.sleep(0.5)
        os.kill(front.processes()[1], signal.SIGKILL)
        try:
            front.process.wait(timeout=START_SECONDS)
        except subprocess.TimeoutExpired:
            raise AssertionError("the proxy goes on with the counts of a process that is dead") from None
    with proxy(address, large=large, rates=AS_DEPLOYED) as front:
        with load(front.url, [example("create-set-points")], callers=4, pause_s=0.1, source=ATTACKERS[0]) as outcome:
            time.sleep(1.0)
        assert not outcome.lost, f"still locked out: {dict(outcome.lost)}"
    yield f"kill -9 of a process of the proxy: it ends; started again, it serves {outcome.total} requests, none failed"

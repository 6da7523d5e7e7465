"""Callers that are slow, idle or endless, 64 at a time, beside ordinary traffic through the proxy."""

import socket
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass

from tests.faults.instance import instance
from tests.faults.load import example, load
from tests.faults.proxy import proxied

CALLERS = 64
SECONDS = 6.0
STALL_MS = 1000.0
"""Ordinary requests take a few milliseconds; a worker that waited for a slow caller would take 10 s or more."""
ASK = b"POST /v1/prep-sheets HTTP/1.1\r\nHost: here\r\nContent-Type: application/json\r\n"


@dataclass(frozen=True)
class Siege:
    """A caller: the bytes that it sends at once, and those that it adds at each interval."""

    name: str
    opening: bytes
    drip: bytes = b""
    reads: bool = False
    every_s: float = 0.3


def sieges() -> list[Siege]:
    return [
        Siege("none", b""),
        Siege("slow headers", ASK + b"X-Slow: ", b"x"),
        Siege("slow bodies", ASK + b"Content-Length: 100000\r\n\r\n{", b" "),
        Siege("slow readers", b"GET /openapi.json HTTP/1.1\r\nHost: here\r\n\r\n", reads=True),
        Siege("idle", b""),
        Siege("header flood", b"GET /healthz HTTP/1.1\r\n", b"X-Flood: " + b"x" * 990 + b"\r\n", every_s=0.02),
    ]


class Caller:
    """One of those; calls again where the proxy has had enough."""

    def __init__(self, address: tuple[str, int], siege: Siege, source: str) -> None:
        self.address, self.siege, self.source = address, siege, source
        self.cut_off = 0
        self._call()

    def _call(self) -> None:
        self.connection = socket.create_connection(self.address, timeout=5, source_address=(self.source, 0))
        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1024)
        with suppress(OSError):  # refused before all of it is sent
            self.connection.sendall(self.siege.opening)
        self.connection.setblocking(False)

    def drip(self) -> None:
        """Send a little, or read a little."""
        try:
            if self.siege.reads:
                gone = self.connection.recv(1) == b""
            else:
                self.connection.sendall(self.siege.drip)
                gone = self.connection.recv(4096) == b""
        except BlockingIOError:
            gone = False
        except OSError:
            gone = True
        if gone:
            self.cut_off += 1
            self.connection.close()
            self._call()


@contextmanager
def besieged(
    address: tuple[str, int], siege: Siege, callers: int, sources: Sequence[str] = ("127.0.0.2",)
) -> Iterator[list[Caller]]:
    """So many callers from each of the addresses at it until the block ends."""
    at_it = [Caller(address, siege, source) for source in sources for _ in range(callers)]
    over = threading.Event()

    def run() -> None:
        while not over.wait(siege.every_s):
            for caller in at_it:
                caller.drip()

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield at_it
    finally:
        over.set()
        thread.join()
        for caller in at_it:
            caller.connection.close()


def run() -> Iterator[str]:
    with instance(LOG_LEVEL="warning") as one, proxied(one.address, large=one.ports[1]) as url:
        host, port = url.removeprefix("http://").split(":")
        for siege in sieges():
            callers = 0 if siege.name == "none" else CALLERS
            with besieged((host, int(port)), siege, callers) as at_it:
                time.sleep(0.5)
                with load(url, [example("create-set-points")], callers=4, pause_s=0.02) as outcome:
                    time.sleep(SECONDS)
            cut_off = sum(caller.cut_off for caller in at_it)
            p50, p99 = outcome.quantile_ms(0.5), outcome.quantile_ms(0.99)
            yield (
                f"{siege.name}: {callers} callers, cut off {cut_off} times; {outcome.total} ordinary requests, "
                f"{outcome.lost.total()} failed, p50 {p50:.1f} ms, p99 {p99:.1f} ms"
            )
            assert not outcome.lost, f"failed beside {siege.name}: {dict(outcome.lost)}"
            assert p99 < STALL_MS, f"p99 of {p99:.0f} ms beside {siege.name}"

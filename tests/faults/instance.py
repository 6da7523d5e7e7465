"""One gunicorn on ports of its own, which it keeps when it is stopped and started, with its log in a file."""

import json
import os
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from shutil import rmtree
from tempfile import TemporaryDirectory
from typing import Any

import requests

from tests.running import START_SECONDS, free_port, start, wait_for

STOP_SECONDS = 30


def free_ports() -> tuple[int, int, int]:
    """For callers, for what takes long, for metrics and probes."""
    return free_port(), free_port(), free_port()


class Instance:
    """The service as it is deployed: a pool for what takes long, metrics on a port of their own, a line a request.

    host, ports: where it listens; instances that one name stands for have the same ports on hosts of their own
    """

    def __init__(self, folder: Path, host: str, ports: tuple[int, int, int], **environment: str) -> None:
        self.log = folder / "log"
        self.host, self.ports = host, ports
        self.address, self.large_address, self.metrics_address = (f"{host}:{port}" for port in ports)
        self.url = f"http://{self.address}"
        places = {"BIND": self.address, "LARGE_BIND": self.large_address, "METRICS_BIND": self.metrics_address}
        self._settings = {"LOG_LEVEL": "info", **places} | environment
        self.start()

    def start(self) -> None:
        """Start, and wait until it answers."""
        with self.log.open("ab") as log:
            self.process: subprocess.Popen[bytes] = start(environment=self._settings, log=log)
        try:
            wait_for(self.url, self.process)
        except RuntimeError as error:
            raise RuntimeError(f"{error}:\n{self.log.read_text()[-2000:]}") from None
        wanted = {"ordinary": int(self._settings.get("WORKERS", "2")), "large": 1, "attendant": 1}
        deadline = time.monotonic() + START_SECONDS
        while any(len(self.workers(pool)) < size for pool, size in wanted.items()):
            if self.process.poll() is not None or time.monotonic() > deadline:
                raise RuntimeError(f"not all workers began:\n{self.log.read_text()[-2000:]}")
            time.sleep(0.02)  # the first one answers before the last begins

    def stop(self, sent: signal.Signals = signal.SIGTERM) -> int:
        """Stop as an operator does; returns the exit code.

        sent: with SIGKILL the workers end as well, as in a container, whose processes do not outlive its first one
        """
        workers = self.workers() if sent is signal.SIGKILL else []
        self.process.send_signal(sent)
        for worker in workers:
            with suppress(ProcessLookupError):  # it has ended by itself
                os.kill(worker, signal.SIGKILL)
        code = self.process.wait(timeout=STOP_SECONDS)
        for left in Path("/dev/shm").glob(f"metrics-{self.process.pid}-*"):  # by one that was killed
            rmtree(left, ignore_errors=True)
        return code

    def workers(self, pool: str = "") -> list[int]:
        """The ids of its worker processes, or of those of a pool."""
        text = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text()
        return [int(word) for word in text.split() if _comm(word).startswith(pool)]

    def kill_worker(self, pool: str = "ordinary") -> None:
        """End a worker as the kernel does when memory runs out, and wait for another in its place."""
        gone, *others = self.workers(pool)
        os.kill(gone, signal.SIGKILL)
        deadline = time.monotonic() + START_SECONDS
        while gone in self.workers(pool) or len(self.workers(pool)) <= len(others):
            if time.monotonic() > deadline:
                raise TimeoutError("no worker took the place of the one that was killed")
            time.sleep(0.02)

    def metrics(self) -> dict[str, float]:
        """Return the samples that Prometheus reads, by name and labels, as written."""
        text = requests.get(f"http://{self.metrics_address}/metrics", timeout=10).text
        rows = (line.rpartition(" ") for line in text.splitlines() if not line.startswith("#"))
        return {name: float(value) for name, _, value in rows}

    def lines(self) -> list[dict[str, Any]]:
        """Its log so far; every line is JSON."""
        return [json.loads(line) for line in self.log.read_text().splitlines()]


def _comm(process: str) -> str:
    try:
        return Path(f"/proc/{process}/comm").read_text()
    except FileNotFoundError:  # it has just ended
        return "none"


@contextmanager
def instance(beside: Instance | None = None, **environment: str) -> Iterator[Instance]:
    """An instance that ends with the block.

    beside: another, on whose ports it is to listen, on the next host
    """
    host = f"127.0.0.{int(beside.host.rpartition('.')[2]) + 1}" if beside else "127.0.0.1"
    with TemporaryDirectory() as folder:
        one = Instance(Path(folder), host, beside.ports if beside else free_ports(), **environment)
        try:
            yield one
        finally:
            if one.process.poll() is None:
                one.stop()

"""Requests without end, and what became of each."""

import itertools
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import requests
from requests.adapters import HTTPAdapter

from service.api.endpoint import MEDIA_TYPES
from tests.clients.operations import EXAMPLES, operations


@dataclass(frozen=True)
class Call:
    """One request, and the status that it is to have."""

    path: str
    body: bytes
    accept: str = "*/*"
    status: int = 200
    form: str = "json"
    """Form of the body, by its short name."""


def example(name: str) -> Call:
    """The committed example of an operation, by its name in kebab case."""
    (path,) = [operation.path for operation in operations() if operation.name == name]
    (file,) = EXAMPLES.glob(f"{name}.*")
    return Call(path, file.read_bytes(), form=file.suffix.removeprefix("."))


def examples() -> list[Call]:
    """The committed examples of all operations."""
    return [example(operation.name) for operation in operations() if operation.body is not None]


@dataclass
class Outcome:
    """The outcome of each request: a status, or the name of the failure, and how long it took [s]."""

    met: list[tuple[str, float]] = field(default_factory=list)

    @property
    def total(self) -> int:
        return len(self.met)

    @property
    def lost(self) -> Counter[str]:
        """How those failed that were not answered as they were to be."""
        return Counter(name for name, _ in self.met if name)

    def quantile_ms(self, share: float) -> float:
        """A quantile of the times [ms]."""
        seconds = sorted(taken for _, taken in self.met)
        return 1000.0 * seconds[min(len(seconds) - 1, int(share * len(seconds)))]


class From(HTTPAdapter):
    """Calls from another of the loopback addresses, which the proxy takes for another caller."""

    def __init__(self, host: str) -> None:
        self._host = host
        super().__init__()

    def init_poolmanager(self, *args: Any, **more: Any) -> None:
        super().init_poolmanager(*args, source_address=(self._host, 0), **more)


def session(source: str) -> requests.Session:
    """One whose requests come from that address."""
    found = requests.Session()
    found.mount("http://", From(source))
    return found


@contextmanager
def load(
    url: str, calls: Sequence[Call], *, callers: int, pause_s: float = 0.0, source: str = "127.0.0.1"
) -> Iterator[Outcome]:
    """Callers that make one call after another until the block ends.

    pause_s: of each caller between two calls [s]
    source: the address that they call from
    """
    outcome, over = Outcome(), threading.Event()

    def run(first: int) -> None:
        calling = session(source)
        for call in itertools.islice(itertools.cycle(calls), first, None):
            if over.wait(pause_s):
                return
            outcome.met.append(_made(calling, url, call))

    threads = [threading.Thread(target=run, args=[number]) for number in range(callers)]
    for thread in threads:
        thread.start()
    try:
        yield outcome
    finally:
        over.set()
        for thread in threads:
            thread.join()


def _made(calling: requests.Session, url: str, call: Call) -> tuple[str, float]:
    headers = {"Content-Type": MEDIA_TYPES[call.form], "Accept": call.accept}
    began = time.perf_counter()
    try:
        status = calling.post(url + call.path, data=call.body, headers=headers, timeout=60).status_code
        name = "" if status == call.status else str(status)
    except requests.RequestException as error:
        name = type(error).__name__
    return name, time.perf_counter() - began


def until(outcome: Outcome, total: int) -> None:
    """Wait until there were so many requests."""
    while outcome.total < total:
        time.sleep(0.02)

"""One step of a sheet, and the list that numbers them."""

from dataclasses import dataclass
from typing import Any, Literal

from service.notes import Value

Station = Literal["manager", "bench", "bar"]


@dataclass(frozen=True)
class Step:
    """One thing to do.

    timer_s: when to look; rings at the early end where the time is a band
    late_s: from its start until it is done, at the late end of that band
    depends_on: numbers of the steps that must be done before
    """

    number: int
    kind: str
    station: Station
    code: str
    text: str
    values: tuple[tuple[str, Value], ...] = ()
    timer_s: float | None = None
    late_s: float | None = None
    hands_on_s: float = 60.0
    depends_on: tuple[int, ...] = ()
    caution: str | None = None

    @property
    def lasts_s(self) -> float:
        """From its start until what depends on it may start."""
        return max(self.hands_on_s, self.timer_s or 0.0, self.late_s or 0.0)


class Steps:
    """Numbers the steps as they are written down."""

    def __init__(self) -> None:
        self.done: list[Step] = []

    def add(self, kind: str, station: Station, code: str, text: str, *values: tuple[str, Value], **more: Any) -> int:
        """Write a step down; its number is what later steps depend on."""
        self.done.append(Step(len(self.done) + 1, kind, station, code, text, values, **more))
        return len(self.done)

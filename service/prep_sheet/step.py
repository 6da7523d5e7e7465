"""One step of a sheet, and the list that numbers them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from service.notes import Severity, Value

Station = Literal["manager", "bench", "bar"]


@dataclass(frozen=True)
class StepValue:
    """A figure of a step.

    code: what it is
    name: as people read it, a component's own name among them; holds {names} that are filled from params
    """

    code: str
    name: str
    value: Value
    params: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True)
class Timer:
    """The time of each turn, and how many there are. each_s: when to look; the early end where the time is a band"""

    each_s: float
    times: int = 1


@dataclass(frozen=True)
class StepCaution:
    """A caution of this step tonight; text holds {names} that are filled from params."""

    code: str
    severity: Severity
    text: str
    params: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True)
class Step:
    """One thing to do.

    text: without numerals, which stand in values; it holds {names} that are filled from params
    late_s: from its start until it is done, at the late end of a band
    depends_on: numbers of the steps that must be done before
    """

    number: int
    kind: str
    station: Station
    code: str
    text: str
    values: tuple[StepValue, ...] = ()
    params: Mapping[str, Value] = field(default_factory=dict)
    timer: Timer | None = None
    late_s: float | None = None
    hands_on_s: float = 60.0
    depends_on: tuple[int, ...] = ()
    cautions: tuple[StepCaution, ...] = ()

    @property
    def lasts_s(self) -> float:
        """From its start until what depends on it may start."""
        timed_s = 0.0 if self.timer is None else self.timer.each_s
        return max(self.hands_on_s, timed_s, self.late_s or 0.0)


class Steps:
    """Numbers the steps as they are written down."""

    def __init__(self) -> None:
        self.done: list[Step] = []

    def add(self, kind: str, station: Station, code: str, text: str, *values: StepValue, **more: Any) -> int:
        """Write a step down; its number is what later steps depend on."""
        self.done.append(Step(len(self.done) + 1, kind, station, code, text, values, **more))
        return len(self.done)


def component(name: str, value: Value) -> StepValue:
    """Return what is taken of a component."""
    return StepValue("component", "{component}", value, {"component": name})

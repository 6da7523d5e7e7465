"""One step of a sheet, and the list that numbers them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any, Literal

from service.declared import JOINED, Declared, Params, Sentence, shape, text, whole
from service.notes import Severity, Value

Station = Literal["manager", "bench", "bar"]
Number = Annotated[int, whole(low=1, high=1000)]
StepCode = Annotated[str, text(60)]


@dataclass(frozen=True)
class StepValue:
    """A figure of a step: what it is by its code, as people read it, and as a number with its unit where it is one.

    name: as people read it, a component's own name among them; a template that params fill in
    """

    code: str
    name: str
    value: Value
    params: Mapping[str, Value] = field(default_factory=dict)


@shape("StepTimer")
@dataclass(frozen=True)
class Timer:
    """each_s: when to look, at the early end where the time is a band; times: so often, once for each vessel."""

    each_s: Declared[float]
    times: Declared[int] = 1


@dataclass(frozen=True)
class StepCaution:
    """A caution of this step tonight."""

    code: StepCode
    severity: Declared[Severity]
    text: Sentence
    params: Params = field(default_factory=dict)


@shape("PrepStep")
@dataclass(frozen=True)
class Step:
    """One thing to do. text has no numerals; they stand in values, one a line. timer_s and caution are deprecated.

    late_s: from its start until it is done, at the late end of a band
    depends_on: numbers of the steps that must be done before
    """

    number: Number
    kind: Annotated[str, text(40)]
    station: Declared[Station]
    code: StepCode
    text: Sentence
    values: Declared[tuple[StepValue, ...]] = ()
    params: Params = field(default_factory=dict)
    timer: Declared[Timer | None] = None
    late_s: float | None = None
    hands_on_s: Annotated[float, "Work of hands, all vessels together."] = 60.0
    depends_on: Declared[tuple[Number, ...]] = ()
    cautions: Declared[tuple[StepCaution, ...]] = ()
    begins_s: Annotated[float | None, "After the start of the work; of the steps up to the first serve."] = None
    begins_at: Annotated[datetime | None, "The latest, where the start of the shift is known."] = None

    @property
    def timer_s(self) -> Annotated[float | None, "Deprecated: timer says it, and how often."]:
        return None if self.timer is None else self.timer.each_s

    @property
    def caution(self) -> Annotated[tuple[StepCaution, ...] | None, JOINED, "Deprecated: the texts of cautions."]:
        return self.cautions or None

    @property
    def lasts_s(self) -> float:
        """The time from its start until the steps that depend on it may start."""
        timed_s = 0.0 if self.timer is None else self.timer.each_s
        return max(self.hands_on_s, timed_s, self.late_s or 0.0)


class Steps:
    """Numbers the steps as they are written down."""

    def __init__(self) -> None:
        self.done: list[Step] = []

    def add(self, kind: str, station: Station, code: str, text: str, *values: StepValue, **more: Any) -> int:
        """Write a step down, and return its number, which later steps depend on."""
        self.done.append(Step(len(self.done) + 1, kind, station, code, text, values, **more))
        return len(self.done)


def component(name: str, value: Value) -> StepValue:
    """Return the figure of a component: its name, and the amount taken of it."""
    return StepValue("component", "{component}", value, {"component": name})

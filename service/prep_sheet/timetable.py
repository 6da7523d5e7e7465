"""When each step begins, so that the first serve makes the shift."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import isfinite

from service.notes import Notes
from service.prep_sheet.paper import label_of
from service.prep_sheet.parts import Parts, PrepSheetRequest
from service.prep_sheet.step import Step, StepValue

FIRST_SERVE = "pour"
MIXING = "mix"
LABELLING = "label"


@dataclass(frozen=True)
class Timetable:
    """The steps with their times.

    begins_s: after the start of the work, for each step up to the first serve
    starts_at: of the shift, None where it was not said
    mixed_at: when the batch step begins, None where the request gave no time
    """

    steps: tuple[Step, ...]
    begins_s: tuple[float, ...]
    starts_at: datetime | None
    mixed_at: datetime | None = None

    @property
    def total_s(self) -> float:
        """From the start of the work to the first serve; infinite where the drink never gets there."""
        return self.begins_s[-1]

    @property
    def hands_on_s(self) -> float:
        """Of that, the work of hands."""
        return sum(step.hands_on_s for step in self.steps[: len(self.begins_s) - 1])

    def timed(self, i: int, step: Step) -> Step:
        """Return a step with when it begins, where it is before the first serve."""
        if i >= len(self.begins_s) or not isfinite(self.begins_s[i]):
            return step
        return replace(step, begins_s=self.begins_s[i], begins_at=self.begins_at(self.begins_s[i]))

    def begins_at(self, after_s: float) -> datetime | None:
        """The moment that is so long after the start, if the work starts as late as it may."""
        if self.starts_at is None or not isfinite(self.total_s):
            return None
        return self.starts_at - timedelta(seconds=self.total_s - after_s)


def timetable_of(steps: Sequence[Step], sheet: Parts, notes: Notes) -> Timetable:
    """The steps as one pair of hands at each station does them, in their order, each at its late end.

    The label, on its step too, shows when the batch is mixed.
    """
    asked = sheet.asked
    timetable = Timetable(tuple(steps), _begins_s(steps), asked.shift.starts_at if asked.shift else None)
    _caution_late(timetable, asked, notes)
    mixed_at = _mixed_at(timetable, asked)
    values = tuple(StepValue(line.code, line.name, line.value) for line in label_of(sheet, mixed_at).lines)
    labelled = [replace(step, values=values) if step.kind == LABELLING else step for step in steps]
    timed = [timetable.timed(i, step) for i, step in enumerate(labelled)]
    return replace(timetable, steps=tuple(timed), mixed_at=mixed_at)


def _begins_s(steps: Sequence[Step]) -> tuple[float, ...]:
    done_s: list[float] = []
    begins_s: list[float] = []
    free_s = {"manager": 0.0, "bench": 0.0, "bar": 0.0}
    for step in steps:
        begins = max([free_s[step.station], *(done_s[number - 1] for number in step.depends_on)])
        begins_s.append(begins)
        done_s.append(begins + step.lasts_s)
        free_s[step.station] = begins + step.hands_on_s
        if step.kind == FIRST_SERVE:
            break
    return tuple(begins_s)


def _latest_mixing(timetable: Timetable) -> datetime | None:
    """Return when the batch step begins if the work starts as late as it may; None without a shift."""
    (mixing_s,) = (
        begins for step, begins in zip(timetable.steps, timetable.begins_s, strict=False) if step.kind == MIXING
    )
    return timetable.begins_at(mixing_s)


def _mixed_at(timetable: Timetable, asked: PrepSheetRequest) -> datetime | None:
    """Return when the batch step begins, by the clock of `made_at`: in time for the shift, never before it was said."""
    if asked.made_at is None:
        return None
    latest = _latest_mixing(timetable)
    if latest is None or latest <= asked.made_at:
        return asked.made_at
    return latest.astimezone(asked.made_at.tzinfo).replace(microsecond=0)


def _caution_late(timetable: Timetable, asked: PrepSheetRequest, notes: Notes) -> None:
    """What is mixed when it was said to be made may not be ready when the shift starts."""
    if asked.made_at is None:
        return
    latest = _latest_mixing(timetable)
    if latest is not None and asked.made_at > latest:
        text = "Mix by {latest} for this shift: mixed at {made_at}, the first serve may be late."
        notes.caution(
            "late-for-shift",
            "warning",
            text,
            at=("/made_at", "/shift/starts_at"),
            made_at=f"{asked.made_at:%Y-%m-%d %H:%M}",
            latest=f"{latest.astimezone(asked.made_at.tzinfo):%Y-%m-%d %H:%M}",
        )

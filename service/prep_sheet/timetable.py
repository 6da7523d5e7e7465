"""When each step begins, so that the first serve makes the shift."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import isfinite

from service.notes import Notes
from service.prep_sheet.parts import Asked
from service.prep_sheet.step import Step

FIRST_SERVE = "pour"


@dataclass(frozen=True)
class Timetable:
    """The steps with their times.

    begins_s: after the start of the work, for each step up to the first serve
    starts_at: of the shift, None where it was not said
    """

    steps: tuple[Step, ...]
    begins_s: tuple[float, ...]
    starts_at: datetime | None

    @property
    def total_s(self) -> float:
        """From the start of the work to the first serve; infinite where the drink never gets there."""
        return self.begins_s[-1]

    @property
    def hands_on_s(self) -> float:
        """Of that, the work of hands."""
        return sum(step.hands_on_s for step in self.steps[: len(self.begins_s) - 1])

    def begins_at(self, after_s: float) -> datetime | None:
        """The moment that is so long after the start, if the work starts as late as it may."""
        if self.starts_at is None or not isfinite(self.total_s):
            return None
        return self.starts_at - timedelta(seconds=self.total_s - after_s)


def timetable_of(steps: Sequence[Step], asked: Asked, notes: Notes) -> Timetable:
    """The steps as one pair of hands at each station does them, in their order, each at its late end."""
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
    timetable = Timetable(tuple(steps), tuple(begins_s), asked.shift.starts_at if asked.shift else None)
    _caution_late(timetable, asked, notes)
    return timetable


def _caution_late(timetable: Timetable, asked: Asked, notes: Notes) -> None:
    """What is mixed when it was said to be made may not be ready when the shift starts."""
    if asked.made_at is None:
        return
    (mixing_s,) = (
        begins for step, begins in zip(timetable.steps, timetable.begins_s, strict=False) if step.kind == "mix"
    )
    latest = timetable.begins_at(mixing_s)
    if latest is not None and asked.made_at > latest:
        text = "Mixed at {made_at}, the first serve may be late: for this shift, mix by {latest}."
        notes.caution(
            "late-for-shift",
            "warning",
            text,
            at=("/made_at", "/shift/starts_at"),
            made_at=f"{asked.made_at:%Y-%m-%d %H:%M}",
            latest=f"{latest.astimezone(asked.made_at.tzinfo):%Y-%m-%d %H:%M}",
        )

"""The prep sheet as it is answered: the parts, the steps with the moment each begins, records and labels."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import isfinite
from typing import Annotated

from service.batching import HEEL, WHOLE_SERVES, Batch, Fill
from service.carbonation import Charging, SetPoints
from service.chilling import Chilling
from service.declared import MASS, VOLUME, Declared, text
from service.draught import DraughtLine
from service.notes import Notes
from service.prep_sheet.paper import Record, SheetLabel, label_of, records_of
from service.prep_sheet.parts import Parts, PrepSheetRequest, PrepSolution
from service.prep_sheet.sheet import prepare
from service.prep_sheet.step import Step, StepValue
from service.prep_sheet.steps import steps_of
from service.regas import Forecast
from service.science.band import Band

FIRST_SERVE = "pour"
MIXING = "mix"
LABELLING = "label"


@dataclass(frozen=True)
class Timetable:
    """The steps with their times.

    begins_s: after the start of the work, for each step up to the first serve
    starts_at: of the shift, None where it was not stated
    mixed_at: when the batch step begins, None where the request gave no time
    """

    steps: tuple[Step, ...]
    begins_s: tuple[float, ...]
    starts_at: datetime | None
    mixed_at: datetime | None = None

    @property
    def total_s(self) -> float:
        """Time from the start of the work to the first serve; infinite where the drink never gets there."""
        return self.begins_s[-1]

    @property
    def hands_on_s(self) -> float:
        """The part of that time in which hands are at work."""
        return sum(step.hands_on_s for step in self.steps[: len(self.begins_s) - 1])

    def timed(self, i: int, step: Step) -> Step:
        """Return a step with the moment at which it begins, where it comes before the first serve."""
        if i >= len(self.begins_s) or not isfinite(self.begins_s[i]):
            return step
        return replace(step, begins_s=self.begins_s[i], begins_at=self.begins_at(self.begins_s[i]))

    def begins_at(self, after_s: float) -> datetime | None:
        """Return the moment some time after the start of the work, where that starts as late as it may."""
        if self.starts_at is None or not isfinite(self.total_s):
            return None
        return self.starts_at - timedelta(seconds=self.total_s - after_s)


def timetable_of(steps: Sequence[Step], sheet: Parts, notes: Notes) -> Timetable:
    """Return the steps as one pair of hands at each station does them, in their order, each at its late end.

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
    """Return the moment of the batch step where the work starts as late as it may; None without a shift."""
    (mixing_s,) = (
        begins for step, begins in zip(timetable.steps, timetable.begins_s, strict=False) if step.kind == MIXING
    )
    return timetable.begins_at(mixing_s)


def _mixed_at(timetable: Timetable, asked: PrepSheetRequest) -> datetime | None:
    """Return the moment of the batch step, on the clock of `made_at` and never before it: in time for the shift."""
    if asked.made_at is None:
        return None
    latest = _latest_mixing(timetable)
    if latest is None or latest <= asked.made_at:
        return asked.made_at
    return latest.astimezone(asked.made_at.tzinfo).replace(microsecond=0)


def _caution_late(timetable: Timetable, asked: PrepSheetRequest, notes: Notes) -> None:
    """Warn of a batch that, mixed at the stated time, may not be ready when the shift starts."""
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
            made_at=asked.made_at,
            latest=latest.astimezone(asked.made_at.tzinfo),
        )


@dataclass(frozen=True)
class PrepCarbonation:
    """The set-point, and what the charges come to."""

    set_points: Declared[SetPoints]
    charges: Declared[Charging]


@dataclass(frozen=True)
class PrepGas:
    """CO2 for the whole batch, every vessel charged once, counted as /v1/carbonation/gas-supply does."""

    co2_used_g: Annotated[Band, MASS, "From the cylinder, to rest at the dial, purges and losses included."]


@dataclass(frozen=True)
class PrepSheet:
    """The whole job in the order of work."""

    spec_id: Annotated[str, text(100)]
    batch: Declared[Batch]
    fill: Declared[Fill]
    whole_serves: Annotated[int, WHOLE_SERVES]
    heel_ml: Annotated[float, VOLUME, HEEL]
    acid_solutions: Declared[tuple[PrepSolution, ...]]
    chilling: Declared[Chilling]
    carbonation: Declared[PrepCarbonation]
    regas: Annotated[Forecast | None, "Absent on draught, where `draught` tells what the keg is held at and comes to."]
    gas: Declared[PrepGas]
    total_s: Annotated[
        float | None,
        "From the start of the work to the first serve, every wait at its late end, one pair of hands a station; "
        "absent where the drink never gets there.",
    ]
    hands_on_s: Annotated[float, "Of that, the work of hands."]
    latest_start: Annotated[datetime | None, "So that the first serve makes the shift, where its start is known."]
    draught: Annotated[DraughtLine | None, "Where it is served on draught."]
    steps: Declared[tuple[Step, ...]]
    records: Declared[tuple[Record, ...]]
    label: Declared[SheetLabel]


def prep_sheet(asked: PrepSheetRequest, notes: Notes) -> PrepSheet:
    """Return the whole job for one spec.

    raises: Refused, SeveralRefused, with pointers into the prep sheet's own request
    """
    parts = prepare(asked, notes)
    timetable = timetable_of(steps_of(parts), parts, notes)
    serve_ml, fill = parts.batch.serve_ml, parts.fill
    return PrepSheet(
        spec_id=parts.batch.spec_id,
        batch=replace(parts.batch, label=replace(parts.batch.label, made_at=timetable.mixed_at)),
        fill=fill,
        whole_serves=fill.count * fill.pours(serve_ml),
        heel_ml=fill.heel_ml(serve_ml),
        acid_solutions=parts.solutions,
        chilling=parts.chilling,
        carbonation=PrepCarbonation(parts.set_points, parts.charging),
        regas=parts.forecast,
        gas=PrepGas(parts.gas_g),
        total_s=timetable.total_s if isfinite(timetable.total_s) else None,
        hands_on_s=timetable.hands_on_s,
        latest_start=timetable.begins_at(0.0),
        draught=parts.line,
        steps=timetable.steps,
        records=records_of(parts),
        label=label_of(parts, timetable.mixed_at),
    )

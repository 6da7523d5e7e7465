"""The pours of a shift in the order they are served, each at its time."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from service.notes import Notes
from service.regas.case import Case
from service.regas.planning import Turn, below
from service.regas.results import Crossing, PourForecast, RotationTurn
from service.regas.serving import Served
from service.science.units import Quantity


def caution_glasses(case: Case, served: Sequence[Served], order: Sequence[Turn], notes: Notes) -> None:
    """Warn how many glasses of the plan fall below the floor all the same."""
    glasses = [
        served[turn.served_before + i].glass.typical for turn in order for i in range(turn.last - turn.first + 1)
    ]
    fallen = sum(below(glass, case.floor_g_per_l) for glass in glasses)
    if fallen:
        text = "Expect {below} of {all} glasses below the floor of {floor}."
        notes.caution("below-floor", "warning", text, at="/shift/floor", below=float(fallen), all=float(len(glasses)),
                      floor=Quantity("co2", case.floor_g_per_l))  # fmt: skip


def pours_of(
    case: Case, starts_at: datetime | None, served: Sequence[Served], order: Sequence[Turn]
) -> tuple[PourForecast, ...]:
    """Return the pours of all vessels in the order they are served."""
    found = []
    for turn in order:
        for number in range(turn.first, turn.last + 1):
            one, after_s = served[turn.served_before + number - turn.first], (number - 1) * case.interval_s
            at, regassed = _moment(starts_at, after_s), turn.regas_before and number == turn.first
            found.append(PourForecast(number, turn.vessel, after_s, at, regassed, one.bottle, one.glass, one.gauge))
    return tuple(found)


def crossing(pours: Sequence[PourForecast], floor_g_per_l: float) -> Crossing | None:
    """Return the first glass of the plan that is likely to fall below the floor; None where none does."""
    fallen = (pour for pour in pours if below(pour.glass.typical, floor_g_per_l))
    return next((Crossing(pour.number, pour.vessel, pour.after_s, pour.at) for pour in fallen), None)


def rotation_of(case: Case, starts_at: datetime | None, order: Sequence[Turn]) -> tuple[RotationTurn, ...]:
    """Return the turns of all vessels, each at its time."""
    found = []
    for turn in order:
        after_s = (turn.first - 1) * case.interval_s
        found.append(
            RotationTurn(turn.vessel, turn.first, turn.last, after_s, _moment(starts_at, after_s), turn.regas_before)
        )
    return tuple(found)


def _moment(starts_at: datetime | None, after_s: float) -> datetime | None:
    return None if starts_at is None else starts_at + timedelta(seconds=after_s)

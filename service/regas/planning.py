"""The plan of a shift, when to re-gas and which vessel serves when; and its pours in that order, each at its time."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate, pairwise

from service.calibration import pour_loss_of
from service.limits.serving import LEAST_FILL, MOST_REGASSINGS
from service.notes import Notes
from service.regas.case import Case
from service.regas.regassing import dial_for
from service.regas.results import Crossing, PourForecast, RotationTurn
from service.regas.serving import Served, bottle
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.science.vessel import Poured


@dataclass(frozen=True)
class Turn:
    """Pours that one vessel serves in a row; pours and vessels are numbered from 1."""

    vessel: int
    first: int
    last: int
    served_before: int
    """Pours that this vessel served before this turn."""

    @property
    def regas_before(self) -> bool:
        """Tell whether the vessel is re-gassed before this turn."""
        return self.served_before > 0


def may_regas(case: Case, k: int) -> bool:
    """Tell whether the bottle is cold and full enough before its pour k, counted from 0."""
    return k > 0 and case.regas_c == case.holding_c and full_enough(case, case.liquid_l - k * case.pour_l)


def full_enough(case: Case, left_l: float) -> bool:
    """Tell whether so much drink is a third of the vessel."""
    return left_l >= LEAST_FILL * case.setting.vessel.capacity_ml / 1000.0 * (1.0 - 1e-9)


def below(glass_g_per_l: float, floor_g_per_l: float) -> bool:
    """Tell whether a glass falls below the floor, by more than a change of units may take."""
    return glass_g_per_l < floor_g_per_l - 1e-9


def on_floor(glasses: Iterable[float], floor_g_per_l: float) -> int:
    """Count the glasses before the first below the floor."""
    count = 0
    for glass in glasses:
        if below(glass, floor_g_per_l):
            break
        count += 1
    return count


def dial_at(case: Case, run: Sequence[Poured], k: int) -> float:
    """Return the dial that brings the bottle back to its first level before its pour k, or the highest safe one.

    0 or less where none is.
    run: the pours before it, at typical rates
    """
    never_over = case.never_over_bar_gauge(k)
    try:
        wanted = dial_for(case.regas_setting(never_over), run[k - 1].after, case.co2_g_per_l, case.usual)
    except OutsideValidity as outside:
        if outside.quantity != "pressure":
            raise
        return never_over
    return min(wanted, never_over)


def regas_dials(case: Case, alone: Sequence[Poured]) -> dict[int, float]:
    """Return the pours before which a bottle is re-gassed, with the dial, so that every glass makes the floor.

    Each as late as may be, which takes the fewest: a re-gas put off never leaves a later glass worse. Where the floor
    cannot be kept to the end, more glasses keep it than without.

    alone: the pours without any, at typical rates
    """
    dials: dict[int, float] = {}
    run = alone
    while len(dials) < MOST_REGASSINGS:
        good = _good(case, run)
        open_to_it = range(max(dials, default=0) + 1, min(good, case.pours - 1) + 1)
        latest = max((k for k in open_to_it if may_regas(case, k)), default=0)
        if good == case.pours or not latest:
            break
        tried = {**dials, latest: dial_at(case, run, latest)}
        if tried[latest] <= 0.0:
            break  # and none is safe before, where the bottle is fuller
        run = bottle(case, tried, case.usual, run[:latest])
        if _good(case, run) <= good:
            break
        dials = tried
    return dials


def _good(case: Case, run: Sequence[Poured]) -> int:
    share = pour_loss_of(case.setting.calibration, case.manner, case.holding_c).typical
    return on_floor((pour.glass_g_per_l(share) for pour in run), case.floor_g_per_l)


def legs_between(dials: Mapping[int, float], pours: int) -> tuple[int, ...]:
    """Return the pours of a bottle before, between and after its re-gassings."""
    return tuple(after - before for before, after in pairwise((0, *sorted(dials), pours)))


def turns(legs: Sequence[int], *, vessel_count: int, pours: int) -> tuple[Turn, ...]:
    """Return who serves when: every first leg, then every second one, so that a re-gassed vessel has time to rest.

    legs: pours of each vessel between its re-gassings
    pours: wanted in all
    """
    found: list[Turn] = []
    served = 0
    for leg, before in zip(legs, accumulate(legs, initial=0), strict=False):
        for vessel in range(1, vessel_count + 1):
            count = min(leg, pours - served)
            if count > 0:
                found.append(Turn(vessel, served + 1, served + count, before))
                served += count
    return tuple(found)


def caution_glasses(case: Case, served: Sequence[Served], order: Sequence[Turn], notes: Notes) -> None:
    """Warn how many glasses of the plan fall below the floor all the same."""
    glasses = [
        served[turn.served_before + i].glass.typical for turn in order for i in range(turn.last - turn.first + 1)
    ]
    fallen = sum(below(glass, case.floor_g_per_l) for glass in glasses)
    if fallen:
        text = "{below} of {all} glasses are likely to fall below the floor of {floor}."
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

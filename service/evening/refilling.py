"""Second fillings: vessels that guests have emptied, washed and filled again while the service goes on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from math import ceil

from service.evening.asked import ServicePlanRequest
from service.evening.lots import Lot
from service.evening.prepared import Prepared
from service.evening.tasks import filled_again
from service.evening.timetable import Timed, soonest
from service.notes import Notes
from service.science.units import Quantity


@dataclass(frozen=True)
class SecondFilling:
    """A drink of which some vessels are filled again; times from the start of the service.

    drink: with the vessels of its first filling and of its second
    clean_s: when as many vessels are emptied and washed; runs_out_s: when the first filling of the drink is poured
    tasks: what is done in the service
    """

    drink: Prepared
    clean_s: float
    runs_out_s: float
    tasks: tuple[Timed, ...]

    @property
    def ready_s(self) -> float:
        """Return when all of it is charged, rested and labelled [s]."""
        return float(max(one.ends_s for one in self.tasks))


def second_filling(
    asked: ServicePlanRequest, drinks: Sequence[Prepared], one: Prepared, first: int, *, not_before_s: float = 0.0
) -> SecondFilling | None:
    """Return the second filling of a drink of which so many vessels are filled first.

    Guests are taken to drink evenly through the service. One person and one regulator do it, in one lot.

    not_before_s: when they are free for it [s]
    returns: None where it cannot be: the vessels are not told to be washed, the drink is made ahead, or the second
        filling is not ready before the first runs out
    """
    washed_in_s = asked.vessels[one.vessel_at].washed_in_s
    again = one.fillings - first
    if washed_in_s is None or one.asked.made_ahead or first < 1:
        return None
    drink = replace(one.of(first), second=again)
    others = [drink if other.index == one.index else other for other in drinks]
    emptied_s = sorted(moment for other in others for moment in _emptied_s(asked, other, one.vessel_at))
    if len(emptied_s) < again:
        return None
    clean_s = emptied_s[again - 1] + washed_in_s
    tasks = _tasks(drink, max(clean_s, not_before_s))
    runs_out_s = asked.service.lasts_s * (drink.ready_serves + first * drink.pours) / drink.whole_serves
    found = SecondFilling(drink, clean_s, runs_out_s, tasks)
    return found if found.ready_s <= runs_out_s else None


def _emptied_s(asked: ServicePlanRequest, one: Prepared, vessel_at: int) -> Iterator[float]:
    """Yield when each vessel of a kind that a drink is poured from is emptied, those of its first filling [s]."""
    each_s = asked.service.lasts_s / one.whole_serves
    served = 0
    for ready in one.ready:
        if ready.given.vessel == asked.vessels[vessel_at].vessel:
            yield from (each_s * (served + k * ready.pours) for k in range(1, ready.given.count + 1))
        served += ready.serves
    if one.vessel_at == vessel_at:
        yield from (each_s * (served + k * one.pours) for k in range(1, one.count + 1))


def _tasks(drink: Prepared, begins_s: float) -> tuple[Timed, ...]:
    """Return what is done in the service, from a moment on."""
    assert drink.place is not None
    lot = Lot(drink, drink.second, drink.place, drink.place)
    late_s = ceil(begins_s)
    return tuple(
        replace(one, begins_s=one.begins_s + late_s, ends_s=one.ends_s + late_s)
        for one in soonest(filled_again(drink, lot))
    )


def caution_second(asked: ServicePlanRequest, found: SecondFilling, notes: Notes) -> None:
    """Tell what the second filling asks of those who serve."""
    clean_at, ready_at, runs_out_at = (
        asked.service.starts_at + timedelta(seconds=seconds)
        for seconds in (found.clean_s, found.ready_s, found.runs_out_s)
    )
    text = (
        "Fill {vessels} of {drink} again in the service: at {clean_at} as many are emptied and washed, at {ready_at} "
        "they are ready, and at {runs_out_at} the first run out. It takes {hands} of hands and a regulator."
    )
    hands = Quantity("duration", float(sum(one.task.hands_on_s for one in found.tasks)), "up")
    notes.caution("filled-again", "warning", text, at=f"/drinks/{found.drink.index}", vessels=float(found.drink.second),
                  drink=found.drink.asked.spec.name, clean_at=clean_at, ready_at=ready_at, runs_out_at=runs_out_at,
                  hands=hands)  # fmt: skip

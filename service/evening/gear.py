"""The gear of an evening: the ice that melts, the cold places at their fullest, and how busy people and gear are."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.evening.answer import ColdPeak, Load
from service.evening.planning import Planned
from service.evening.prepared import Prepared
from service.evening.timetable import Timed
from service.limits.serving import ICE_FETCHED
from service.science.band import Band, total
from service.science.rounding import rounded_up


@dataclass(frozen=True)
class Ice:
    """The ice that chills the drinks of tonight."""

    needed_g: Band

    @property
    def to_fetch_g(self) -> float:
        """Return what to fetch, up to the next 100 g [g]."""
        return rounded_up(ICE_FETCHED * self.needed_g.high, 100.0)


def ice_of(drinks: Sequence[Prepared], place: str | None = None) -> Ice | None:
    """Return the ice that melts for the drinks that chill tonight in ice, or in one place of it; None where none does.

    Each drink's is as well known as the others': one room, one thermometer, so that the ends are added.
    """
    found = [
        one.parts.chilling.load.ice_needed_g
        for one in drinks
        if one.parts is not None and not one.asked.made_ahead and one.place is not None
        and place in (None, one.place.name)
    ]  # fmt: skip
    melts = [one for one in found if one is not None]
    if not melts:
        return None
    return Ice(total(melts))


def loads_of(found: Planned, timed: Sequence[Timed]) -> tuple[Load, ...]:
    """Return how busy each person, regulator and cold place is, from the first task to the service."""
    return tuple(_loads(found, timed)) if found.lasts_s else ()


def _loads(found: Planned, timed: Sequence[Timed]) -> Iterator[Load]:
    house, whole = found.house, found.lasts_s
    for person in range(1, house.crew + 1):
        yield Load("crew", str(person), _percent([t for t in timed if t.person == person], whole))
    for regulator in range(1, house.regulators + 1):
        yield Load("regulator", str(regulator), _percent([t for t in timed if t.regulator == regulator], whole))
    for place in house.places:
        if place.holds_ml is not None:
            taken = sum(amount * (t.ends_s - t.begins_s) for t, amount in _in_place(timed, place.name))
            taken += found.standing.stock_ml.get(place.name, 0) * whole
            yield Load("cold", place.name, 100.0 * taken / (whole * place.holds_ml))


def _percent(timed: Sequence[Timed], whole_s: int) -> float:
    return 100.0 * sum(one.ends_s - one.begins_s for one in timed) / whole_s


def _in_place(timed: Sequence[Timed], name: str) -> Iterator[tuple[Timed, int]]:
    for one in timed:
        for use in one.task.uses:
            if use.kind == "cold" and use.name == name:
                yield one, use.amount


def cold_peaks(found: Planned, timed: Sequence[Timed]) -> tuple[ColdPeak, ...]:
    """Return each cold place at its fullest."""
    return tuple(_peak(found, timed, place.name, place.holds_ml) for place in found.house.places)


def _peak(found: Planned, timed: Sequence[Timed], name: str, holds_ml: float | None) -> ColdPeak:
    changes = [change for t, amount in _in_place(timed, name) for change in ((t.begins_s, amount), (t.ends_s, -amount))]
    now = most = found.standing.stock_ml.get(name, 0)
    for _, change in sorted(changes):  # of one moment what leaves comes first
        now += change
        most = max(most, now)
    return ColdPeak(name, float(most), holds_ml)

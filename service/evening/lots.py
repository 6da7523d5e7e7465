"""Lots: vessels of one drink that are filled, chilled and charged together, and the cold places that they stand in."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from service.evening.places import Place
from service.evening.prepared import Prepared
from service.limits.evening import LEAST_LOT
from service.prep_sheet import Parts

PLENTY_ML = 1e12
"""Room of a place that takes everything."""


@dataclass(frozen=True)
class Lot:
    """Vessels of a drink that take turns at the regulator.

    chilled_in, kept_in: their cold place up to the check, and from then on until the service
    """

    drink: Prepared
    count: int
    chilled_in: Place
    kept_in: Place

    @property
    def volume_ml(self) -> int:
        """Return the room that it takes, by brimful capacities [ml]."""
        return self.count * round(self.drink.vessel.capacity_ml)

    @property
    def parts(self) -> Parts:
        return self.drink.holding(self.count)

    @property
    def stays(self) -> bool:
        return self.chilled_in == self.kept_in


@dataclass(frozen=True)
class Standing:
    """The lots of an evening, and what takes room in each cold place from the beginning [ml]."""

    lots: tuple[Lot, ...]
    stock_ml: dict[str, int]


class NoRoom(Exception):
    """The cold places do not take all that stands in them when the service starts. short_ml: the room that lacks"""

    def __init__(self, short_ml: float) -> None:
        self.short_ml = short_ml
        super().__init__(f"{short_ml} ml")


class _Room:
    """The room left in each cold place for what stands there when the service starts.

    reserve_ml: kept free where vessels chill, so that those which stand elsewhere can pass through
    """

    def __init__(self, places: Sequence[Place], reserve_ml: float) -> None:
        self.places = [one for one in places if one.keeps]
        self.left = {one.name: PLENTY_ML if one.holds_ml is None else one.holds_ml for one in self.places}
        self.reserve_ml = reserve_ml if len(self.places) > 1 else 0.0
        self.short_ml = 0.0

    def take(self, count: int, each_ml: float, chilled_in: Place | None) -> Iterator[tuple[Place, int]]:
        """Take room for vessels where there is any; yields each place with its number of them.

        The place that chills them comes last. What finds no room is added to what lacks, less the room that is left and
        takes none of them whole.
        """
        for place in sorted(self.places, key=lambda one: one == chilled_in):
            fits = min(count, int(self._free_ml(place, chilled_in) / each_ml * (1.0 + 1e-9)))
            if fits > 0:
                self.left[place.name] -= fits * each_ml
                count -= fits
                yield place, fits
        self.short_ml += count * each_ml
        if count and self.places:
            most = max(self.places, key=lambda one: self._free_ml(one, chilled_in))
            rest_ml = max(0.0, self._free_ml(most, chilled_in))
            self.left[most.name] -= rest_ml
            self.short_ml -= rest_ml

    def _free_ml(self, place: Place, chilled_in: Place | None) -> float:
        """Return the room left in a place for vessels that a place chills."""
        return self.left[place.name] - (self.reserve_ml if place == chilled_in else 0.0)


def standing(drinks: Sequence[Prepared], places: Sequence[Place], split: int) -> Standing:
    """Return the lots of what is made tonight, and what stands in the cold from before.

    split: into so many lots a drink of many vessels is split; more where the cold does not take it in one
    raises: NoRoom
    """
    tonight = [one for one in drinks if one.count and not one.asked.made_ahead]
    room = _Room(places, max((one.vessel.capacity_ml for one in tonight), default=0.0))
    stock_ml: dict[str, int] = defaultdict(int)
    for each_ml, count in _there_before(drinks):
        for place, fits in room.take(count, each_ml, None):
            stock_ml[place.name] += round(fits * each_ml)
    lots = []
    for one in tonight:
        chilled_in = one.place
        assert chilled_in is not None
        for count in _split(one.count, split):
            lots += [Lot(one, fits, chilled_in, place)
                     for place, fits in room.take(count, one.vessel.capacity_ml, chilled_in)]  # fmt: skip
    if room.short_ml > 0.0:
        raise NoRoom(room.short_ml)
    return Standing(tuple(_passing(lots, stock_ml)), dict(stock_ml))


def _there_before(drinks: Sequence[Prepared]) -> Iterator[tuple[float, int]]:
    """Yield capacity and number of what is charged before the evening, or mixed for a second filling in it."""
    for one in drinks:
        if one.second:
            yield one.vessel.liquid_ml(one.fill), one.second
        if one.asked.made_ahead and one.count:
            yield one.vessel.capacity_ml, one.count
        for ready in one.ready:
            yield ready.vessel.capacity_ml, ready.given.count


def _split(count: int, split: int) -> list[int]:
    """Return the sizes of lots, as even as may be and none of them small."""
    into = max(1, min(split, count // LEAST_LOT))
    return [count // into + (i < count % into) for i in range(into)]


def _passing(lots: Sequence[Lot], stock_ml: dict[str, int]) -> Iterator[Lot]:
    """Yield the lots, those that only pass through a place in such as it takes beside what stays there."""
    stays: dict[str, int] = defaultdict(int, stock_ml)
    for one in lots:
        if one.stays:
            stays[one.kept_in.name] += one.volume_ml
    for one in lots:
        holds_ml = one.chilled_in.holds_ml
        if one.stays or holds_ml is None:
            yield one
            continue
        each_ml = round(one.drink.vessel.capacity_ml)
        most = max(1, int((holds_ml - stays[one.chilled_in.name]) / each_ml * (1.0 + 1e-9)))
        into = -(-one.count // most)
        for i in range(into):
            yield replace(one, count=one.count // into + (i < one.count % into))

"""Pools: what a till sold of a drink, drawn from the vessels that hold it, opened first and in whole pours."""

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from math import floor, hypot, sqrt
from typing import Annotated

from service.declared import shape, text
from service.errors import Fact, Fault, Refused
from service.limits.charging import COLD_REST_S
from service.limits.serving import PACE_OVER, POUR_DRIFT, POUR_OFF
from service.regas.counting import Entry, Order, RefusedEvent, unknown_key
from service.regas.log import POURS, Event, Sale
from service.science.band import Band
from service.science.units import Quantity

ROUNDING = 1e-9
"""What a change of units may add to a volume, share of it."""


@shape("RegasPool")
@dataclass(frozen=True)
class Pool:
    """All vessels of one drink key: what they still hold, at the pace of the last hour."""

    drink_key: Annotated[str, text(64)]
    serves_left: Annotated[Band, "Whole pours in vessels that are not to be discarded; as far off as pours are."]
    missing_serves: Annotated[int, "Sold beyond what the pool held."]
    runs_out_at: Annotated[datetime | None, "At the pace of the last hour; absent where there is none."] = None
    next_opening: Annotated[
        str | None, text(64), "Id of the vessel to open once those that are open are done. Absent where none is left."
    ] = None


@dataclass
class Holding:
    """A vessel by volumes alone, and the events of it that count so far, with the pours that sales drew from it.

    pour_l: a glass of it; refused: events of it that do not count; stays_open: a re-gas does not close it, as of a keg
    poured_l: by pours and sales, whose volumes are as far off as pours are; known: that nothing is left of it
    """

    id: str
    drink_key: str | None
    left_l: float
    pour_l: float
    stays_open: bool = False
    entries: list[Entry[Event]] = field(default_factory=list)
    refused: list[RefusedEvent] = field(default_factory=list)
    is_open: bool = False
    rests_until: datetime | None = None
    poured_l: float = 0.0
    known: bool = False

    @property
    def whole_pours(self) -> int:
        """Whole pours that are left; a heel too small for one is none."""
        return floor(self.left_l / self.pour_l * (1.0 + ROUNDING))

    def take(self, entry: Entry[Event]) -> None:
        """Take an event of its own log; a pour of more than is left is refused and changes nothing."""
        event = entry.event
        if event.kind in POURS:
            volume_l = (event.volume_ml or 0.0) / 1000.0 or self.pour_l * (event.serves or 1)
            if volume_l > self.left_l * (1.0 + ROUNDING):
                self.refused.append(self._too_much(entry))
                return
            self._pour(volume_l)
        elif event.kind == "emptied":
            self.left_l = 0.0
        elif event.kind == "charged" and not self.stays_open:
            self.is_open = False
            self.rests_until = event.at + timedelta(seconds=(event.shake_s or 0.0) + COLD_REST_S)
        if event.kind in (*POURS, "emptied", "opened"):
            self.is_open = True
        self.entries.append(entry)

    def rests(self, at: datetime) -> bool:
        """Tell whether it was re-gassed and rests still."""
        return self.rests_until is not None and at < self.rests_until

    def draw(self, sale: Entry[Sale], serves: int) -> int:
        """Pour as many serves of a sale as there are whole ones, in one go; return how many."""
        count = min(serves, self.whole_pours)
        if count:
            poured = Event(sale.event.id, sale.event.at, "poured", serves=count)
            self.entries.append(Entry(sale.pointer, poured, sale.order))
            self.is_open = True
            self._pour(count * self.pour_l)
        return count

    def _pour(self, volume_l: float) -> None:
        self.left_l = max(0.0, self.left_l - volume_l)
        self.poured_l += volume_l

    def _too_much(self, entry: Entry[Event]) -> RefusedEvent:
        """Return the refusal of a pour of more than is left, without an offer: what was poured is not rewritten."""
        held = Quantity("volume", 1000.0 * self.left_l, "down")
        text = "This pour is more than is left in the vessel, {left}."
        where = f"{entry.pointer}/volume" if entry.event.volume_ml is not None else f"{entry.pointer}/serves"
        fault = Fault(where, "more-than-left", text, (("left", held),))
        return RefusedEvent(entry.pointer, Refused("pour-too-large", [fault], facts=[Fact("left", held)]))


@dataclass
class Drawing:
    """The vessels of one drink key, in the order of the request, while its sales are drawn from them.

    opened: in the order of their opening, until they hold no pour or are charged again
    last: the one that was poured from last; sold: when how many serves left the pool
    """

    drink_key: str
    holdings: Sequence[Holding]
    opened: list[Holding] = field(default_factory=list)
    last: Holding | None = None
    sold: list[tuple[datetime, float]] = field(default_factory=list)
    missing_serves: int = 0

    def note(self, one: Holding, entry: Entry[Event]) -> None:
        """Take an event of one of its vessels."""
        was_open, before_l = one.is_open, one.left_l
        in_use = one is self.last
        one.take(entry)
        if one.is_open and not was_open:
            self.opened.append(one)
        elif was_open and not one.is_open:
            self.opened = [other for other in self.opened if other is not one]
        if entry.event.kind == "emptied" and in_use:
            for done in self.holdings:  # nothing was poured from another one since: what is left of the pool is known
                done.known = done.known or (done.is_open and not done.whole_pours)
        if entry.event.kind == "poured" and one.left_l < before_l:
            self.sold.append((entry.event.at, (before_l - one.left_l) / one.pour_l))
            self.last = one

    def sell(self, sale: Entry[Sale]) -> int:
        """Draw a sale, opened vessels first, in the order of their opening; return the serves that are missing."""
        asked = left = sale.event.serves or 1
        while left and (one := self._first(sale.event.at)) is not None:
            left -= one.draw(sale, left)
            self.last = one
        if asked > left:
            self.sold.append((sale.event.at, float(asked - left)))
        self.missing_serves += left
        return left

    def _first(self, at: datetime) -> Holding | None:
        """Return the vessel that the next pour comes from: what holds no whole pour is done."""
        while self.opened and not self.opened[0].whole_pours:
            self.opened.pop(0)
        if not self.opened:
            self.opened += self._closed(at)[:1]
        return self.opened[0] if self.opened else None

    def _closed(self, at: datetime) -> list[Holding]:
        """Return the vessels to open, in the order of the request; one that rests after a re-gas comes last."""
        closed = [one for one in self.holdings if not one.is_open and one.whole_pours]
        return sorted(closed, key=lambda one: one.rests(at))

    def answer(self, usable: Iterable[str], charged: Iterable[str], now: datetime) -> Pool:
        """Return what is left of the pool.

        usable, charged: ids of vessels that are not to be discarded, and of those that are closed and hold their gas
        """
        of_use, full = set(usable), set(charged)
        left = sum(one.whole_pours for one in self.holdings if one.id in of_use)
        closed = (one.id for one in self._closed(now) if one.id in full)
        pace = sum(serves for at, serves in self.sold if at > now - PACE_OVER)
        runs_out = now if not left else now + PACE_OVER * (left / pace) if pace else None
        return Pool(self.drink_key, self._band(of_use, left), self.missing_serves, runs_out, next(closed, None))

    def _band(self, of_use: Container[str], left: int) -> Band:
        """Return the whole pours left as far off as pours are, before and after now.

        Errors of single pours by root of the squares, and one that all of them share. source: GUM 5.1
        """
        usable = [one for one in self.holdings if one.id in of_use]
        poured = sum(one.poured_l / one.pour_l for one in self.holdings if not one.known)
        low = high = 0
        for one in usable:
            serves = one.left_l / one.pour_l
            before = poured if one is self.last else 0.0
            off = hypot(POUR_OFF * sqrt(before), POUR_DRIFT * (before + serves))
            low, high = low + floor(serves - off), high + floor(serves + off)
        return Band(float(max(0, low)), float(left), float(max(left, high)))


def let_happen(
    logs: Iterable[tuple[Holding, Sequence[Entry[Event]]]],
    drawings: Mapping[str, Drawing],
    sales: Sequence[Entry[Sale]],
    refused: list[RefusedEvent],
) -> None:
    """Let all that was told happen in the order of its time, by volumes alone.

    logs: each vessel with the events of its own; drawings: by drink key, those whose vessels these are among them
    refused: gathers sales of a drink that no key names, and of more than the pool held, of which the rest counts
    """
    pool_of = {id(one): drawing for drawing in drawings.values() for one in drawing.holdings}
    happened: list[tuple[Order, Callable[[], None]]] = []
    for one, entries in logs:
        drawing = pool_of.get(id(one))
        take = one.take if drawing is None else partial(drawing.note, one)
        happened += [(entry.order, partial(take, entry)) for entry in entries]
    happened += [(sale.order, partial(_sell, sale, drawings, refused)) for sale in sales]
    for _, happens in sorted(happened, key=lambda each: each[0]):
        happens()


def _sell(sale: Entry[Sale], drawings: Mapping[str, Drawing], refused: list[RefusedEvent]) -> None:
    key = sale.event.drink_key or ""
    drawing = drawings.get(key)
    if drawing is None:
        refused.append(RefusedEvent(sale.pointer, unknown_key(f"{sale.pointer}/drink_key", key, drawings)))
        return
    missing = drawing.sell(sale)
    if missing:
        text = "Sold {missing} more than the vessels of {drink_key} hold by their logs; the rest of the sale counts."
        params = ("missing", float(missing)), ("drink_key", key)
        fault = Fault(f"{sale.pointer}/serves", "more-than-the-pool", text, params)
        facts = [Fact("missing_serves", float(missing))]
        refused.append(RefusedEvent(sale.pointer, Refused("oversold", [fault], facts=facts)))

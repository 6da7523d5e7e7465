"""A vessel's log: events in the order of their time, each once, and what was measured after now as of now."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import inf
from typing import Literal

from service.drink import DrinkGiven
from service.errors import Fault, Refusals, Refused
from service.limits.requests import MOST_NAMED
from service.notes import Notes
from service.site import Air
from service.vessel import VesselGiven

EventKind = Literal["charged", "opened", "closed", "poured", "read", "moved"]
MEASURED = frozenset[EventKind]({"charged", "read", "moved"})
"""Kinds that tell of pressure or temperature: what was observed is not refused."""


@dataclass(frozen=True)
class Event:
    """What happened to a vessel; None where the request is silent."""

    id: str
    at: datetime
    kind: EventKind
    gauge_bar: float | None = None
    shake_s: float | None = None
    volume_ml: float | None = None
    serves: int | None = None
    temperature_c: float | None = None


@dataclass(frozen=True)
class Start:
    """The charged vessel before its first event; None where the request is silent."""

    co2_g_per_l: float
    fill: float | None = None
    temperature_c: float | None = None
    use_by: datetime | None = None


@dataclass(frozen=True)
class VesselLog:
    """One vessel of the bar and what happened to it; what it leaves out is as for all of them."""

    id: str
    start: Start
    drink: DrinkGiven | None = None
    vessel: VesselGiven | None = None
    air: Air | None = None
    events: Sequence[Event] = ()


@dataclass(frozen=True)
class Entry:
    """An event that counts, with where it stands in the request."""

    pointer: str
    event: Event


def in_order(log: VesselLog, now: datetime, at: str, notes: Notes, refusals: Refusals) -> list[Entry]:
    """The events that count; a till that sends one twice means it once.

    Of two measurements under one id the more dangerous counts.

    at: JSON Pointer of the vessel
    refusals: gathers other ids that stand for two different events, and what else lies after now
    """
    first: dict[str, Entry] = {}
    twice, unlike = [], []
    for i, event in enumerate(log.events):
        entry = Entry(f"{at}/events/{i}", event)
        kept = first.setdefault(event.id, entry)
        if kept is entry:
            continue
        if kept.event == event:
            twice.append(entry.pointer)
        elif {kept.event.kind, event.kind} <= MEASURED:
            unlike.append(f"{entry.pointer}/id")
            first[event.id] = max(kept, entry, key=_how_dangerous)
        else:
            refusals.keep(_conflicting(event, entry.pointer))
    if twice:
        text = "Events that came again with the same id and content count once; here {count}."
        notes.caution("duplicate-event", "info", text, at=tuple(twice[:MOST_NAMED]), count=float(len(twice)))
    if unlike:
        text = (
            "Measured twice under one id, and not alike: the more dangerous counts, by its gauge, then by its "
            "temperature; here {count}."
        )
        notes.caution("conflicting-events", "warning", text, at=tuple(unlike[:MOST_NAMED]), count=float(len(unlike)))
    entries = sorted(first.values(), key=lambda one: one.event.at)
    return _up_to(now, entries, notes, refusals)


def _how_dangerous(entry: Entry) -> tuple[float, float]:
    """Return gauge and temperature, by which one measurement is more dangerous than another; what lacks is least."""
    gauge_bar, temperature_c = entry.event.gauge_bar, entry.event.temperature_c
    return -inf if gauge_bar is None else gauge_bar, -inf if temperature_c is None else temperature_c


def _up_to(now: datetime, entries: Sequence[Entry], notes: Notes, refusals: Refusals) -> list[Entry]:
    """Return those up to now, with what was measured later as of now: a clock that is off hides no danger."""
    found, later = [], []
    for entry in entries:
        if entry.event.at <= now:
            found.append(entry)
        elif entry.event.kind in MEASURED:
            later.append(f"{entry.pointer}/at")
            found.append(replace(entry, event=replace(entry.event, at=now)))
        else:
            refusals.keep(_after_now(entry, now))
    if later:
        text = "Measured after now, {now}, by its time: counts as of now; here {count}."
        notes.caution(
            "later-than-now",
            "warning",
            text,
            at=tuple(later[:MOST_NAMED]),
            now=now.isoformat(),
            count=float(len(later)),
        )
    return found


def _conflicting(event: Event, pointer: str) -> Refused:
    text = "The id {id} stands for another event of this vessel already; which of them is right cannot be told."
    return Refused("log-contradiction", [Fault(f"{pointer}/id", "conflicting-id", text, (("id", event.id),))])


def _after_now(entry: Entry, now: datetime) -> Refused:
    text = "This event lies after now, {now}: send now as late as the last event, or correct its time."
    where, moment = f"{entry.pointer}/at", now.isoformat()
    return Refused("log-contradiction", [Fault(where, "after-now", text, (("now", moment),))])

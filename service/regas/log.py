"""A vessel's log: events in the order of their time, each once, none after now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from service.drink import DrinkGiven
from service.errors import Fault, Refusals, Refused
from service.notes import Notes
from service.site import Air
from service.vessel import VesselGiven

EventKind = Literal["charged", "opened", "closed", "poured", "read", "moved"]
MOST_NAMED = 50
"""Pointers of one caution, refusals of one vessel; more say nothing."""


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

    at: JSON Pointer of the vessel
    refusals: gathers ids that stand for two different events, and what lies after now
    """
    first: dict[str, Event] = {}
    entries, twice = [], []
    for i, event in enumerate(log.events):
        pointer = f"{at}/events/{i}"
        if event.id not in first:
            first[event.id] = event
            entries.append(Entry(pointer, event))
        elif first[event.id] == event:
            twice.append(pointer)
        else:
            refusals.keep(_conflicting(event, pointer))
    if twice:
        text = "Events that came again with the same id and content count once; here {count}."
        notes.caution("duplicate-event", "info", text, at=tuple(twice[:MOST_NAMED]), count=float(len(twice)))
    for entry in entries:
        if entry.event.at > now:
            refusals.keep(_after_now(entry, now))
    return sorted((one for one in entries if one.event.at <= now), key=lambda one: one.event.at)


def _conflicting(event: Event, pointer: str) -> Refused:
    text = "The id {id} stands for another event of this vessel already; which of them is right cannot be told."
    return Refused("log-contradiction", [Fault(f"{pointer}/id", "conflicting-id", text, (("id", event.id),))])


def _after_now(entry: Entry, now: datetime) -> Refused:
    text = "This event lies after now, {now}: send now as late as the last event, or correct its time."
    where, moment = f"{entry.pointer}/at", now.isoformat()
    return Refused("log-contradiction", [Fault(where, "after-now", text, (("now", moment),))])

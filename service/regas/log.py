"""A vessel's log: events in the order of their time, each once, and what was measured after now as of now."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import inf
from typing import Annotated, Any, Literal

from service.declared import Declared, co2, duration, items, pressure, shape, temperature, text, volume, whole
from service.drink import DrinkGiven
from service.errors import Fault, Refusals, Refused
from service.limits.requests import MOST_EVENTS, MOST_NAMED
from service.limits.serving import LEAST_POURED_ML
from service.notes import Notes
from service.site import Air
from service.vessel import FillShare, VesselGiven

EventKind = Literal["charged", "opened", "closed", "poured", "read", "moved"]
MEASURED: tuple[EventKind, ...] = ("charged", "read", "moved")
"""Kinds that tell of pressure or temperature: what was observed is not refused; and they cost the most."""
_NEEDS = {"charged": ("gauge_pressure",), "read": ("gauge_pressure",), "moved": ("temperature",)}
_MAY_HOLD = {
    "charged": {"gauge_pressure", "shake", "temperature"},
    "opened": set[str](),
    "closed": set[str](),
    "poured": {"volume", "serves"},
    "read": {"gauge_pressure", "shake", "temperature"},
    "moved": {"temperature"},
}
"""Fields that an event of each kind must have and may have, beside id, at and kind."""
_NOT_OF = {kind: set[str]().union(*_MAY_HOLD.values()) - may for kind, may in _MAY_HOLD.items()}


def fields_of_the_kind(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find fields that an event of its kind lacks, or does not go with."""
    kind = sent.get("kind")
    if not isinstance(kind, str) or kind not in _MAY_HOLD:
        return  # the field says so itself
    for name in _NEEDS.get(kind, ()):
        if name not in sent:
            yield Fault(f"/{name}", "required", "An event of the kind {kind} states this.", (("kind", kind),))
    for name in _NOT_OF[kind] & sent.keys():
        yield Fault(f"/{name}", "not-needed", "It does not go with the kind {kind}.", (("kind", kind),))
    if kind == "poured" and "volume" in sent and "serves" in sent:
        yield Fault("/serves", "not-needed", "State a volume or serves, not both.")


@shape("VesselEvent", rules=[fields_of_the_kind])
@dataclass(frozen=True)
class Event:
    """What happened to a vessel, and when.

    charged: put on the regulator at a gauge pressure and shaken for so long; a keg stays on it. opened, closed: a
    bottle; a keg that is closed is cut off from its gas. poured: a volume, or so many glasses, one unless stated; a
    closed bottle is opened for it and closed again. read: the gauge of the closed vessel at rest, or after so long a
    shake. moved: to another temperature, taken on at once.
    """

    id: Annotated[str, text(64)]
    at: Declared[datetime]
    kind: Declared[EventKind]
    gauge_pressure_bar: Annotated[float | None, pressure(low=0.0, high=30.0)] = None
    shake_s: Annotated[float | None, duration(high=600.0)] = None
    volume_ml: Annotated[float | None, volume(low=LEAST_POURED_ML, high=60_000.0)] = None
    serves: Annotated[int | None, whole(low=1, high=1000)] = None
    temperature_c: Annotated[float | None, temperature(low=-30.0, high=90.0)] = None


@shape("VesselStart")
@dataclass(frozen=True)
class Start:
    """The charged vessel before its first event: closed, and at rest."""

    co2_g_per_l: Annotated[float, co2(low=0.0, high=30.0)]
    fill: FillShare = None
    temperature_c: Annotated[float | None, temperature(low=-30.0, high=90.0)] = None
    use_by: Annotated[datetime | None, "Of its label, as batches answer it."] = None


@dataclass(frozen=True)
class VesselLog:
    """One vessel and its log, in any order; drink and vessel as for all unless stated."""

    id: Annotated[str, text(64)]
    start: Declared[Start]
    drink: Declared[DrinkGiven | None] = None
    vessel: Declared[VesselGiven | None] = None
    air: Declared[Air | None] = None
    events: Annotated[tuple[Event, ...], items(MOST_EVENTS, least=0)] = ()


@dataclass(frozen=True)
class Entry:
    """An event that counts, with where it stands in the request."""

    pointer: str
    event: Event


def in_order(log: VesselLog, now: datetime, at: str, notes: Notes, refusals: Refusals) -> list[Entry]:
    """Return the events that count; a till that sends one twice means it once.

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
        elif kept.event.kind in MEASURED and event.kind in MEASURED:
            unlike.append(f"{entry.pointer}/id")
            first[event.id] = max(kept, entry, key=_how_dangerous)
        else:
            refusals.keep(_conflicting(event, entry.pointer))
    if twice:
        text = "{count} events came again with the same id and content, and count once."
        notes.caution("duplicate-event", "info", text, at=tuple(twice[:MOST_NAMED]), count=float(len(twice)))
    if unlike:
        text = (
            "The more dangerous of two counts, by its gauge, then by its temperature: {count} events were measured "
            "twice under one id, and not alike."
        )
        notes.caution("conflicting-events", "warning", text, at=tuple(unlike[:MOST_NAMED]), count=float(len(unlike)))
    entries = sorted(first.values(), key=lambda one: one.event.at)
    return _up_to(now, entries, notes, refusals)


def _how_dangerous(entry: Entry) -> tuple[float, float]:
    """Return gauge and temperature, by which one measurement is more dangerous than another; what lacks is least."""
    gauge_bar, temperature_c = entry.event.gauge_pressure_bar, entry.event.temperature_c
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
        text = "{count} events were measured after now, {now}, by their time, and count as of now."
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

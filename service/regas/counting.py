"""The lines of a log that count: each once, none that was voided, and those after now as of now or not at all.

It depends on what the lines say and never on their order in the request, so that a log that is shuffled, or sent again,
gives the same state.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import inf
from typing import Annotated, Generic, TypeVar

from service.declared import Declared, text
from service.errors import Fault, Refused, SeveralRefused
from service.limits.requests import MOST_NAMED
from service.limits.serving import CLOCK_AHEAD
from service.notes import Notes, listed
from service.regas.log import MEASURED, Event, Sale

Line = TypeVar("Line", Event, Sale)
Order = tuple[datetime, int, tuple[float, ...], str, tuple[str, ...]]
_RANKS = ("moved", "read", "opened", "poured", "wasted", "sold", "closed", "charged", "emptied", "voided")
"""What comes first of all that happened at one moment: a gauge is read before its vessel is opened, and a vessel is
charged after what was poured, so that nothing takes gas out that was not yet in."""


@dataclass(frozen=True)
class Entry(Generic[Line]):
    """A line that counts, where it stands in the request, and its place among all others as it was sent."""

    pointer: str
    event: Line
    order: Order


@dataclass(frozen=True)
class RefusedEvent:
    """A line that does not count, and why; all the others do."""

    pointer: Annotated[str, text(200)]
    problem: Declared[Refused | SeveralRefused]


def entry_of(pointer: str, line: Line) -> Entry[Line]:
    """Return a line at its place."""
    numbers = ("gauge_pressure_bar", "temperature_c", "shake_s", "volume_ml", "serves")
    told = tuple(-inf if (value := getattr(line, name, None)) is None else float(value) for name in numbers)
    names = tuple(getattr(line, name, None) or "" for name in ("drink_key", "voids"))  # tell lines of one id apart
    return Entry(pointer, line, (line.at, _RANKS.index(line.kind), told, line.id, names))


def counted(
    lines: Sequence[Line], now: datetime, at: str, notes: Notes, refused: list[RefusedEvent]
) -> list[Entry[Line]]:
    """Return the lines that count, in the order of their time; a till that sends one twice means it once.

    Of two measurements under one id the more dangerous counts.

    at: JSON Pointer of the list
    refused: gathers lines under an id that stands for another one, voids of what is not there, and what else lies
        after now
    """
    entries = [entry_of(f"{at}/{i}", line) for i, line in enumerate(lines)]
    known = _once_each(entries, notes, refused)
    voids = [entry for entry in known.values() if entry.event.kind == "voided"]
    voided = {entry.event.voids for entry in _up_to(now, voids, notes, refused) if _voids(entry, known, refused)}
    others = [one for one in known.values() if one.event.kind != "voided" and one.event.id not in voided]
    return _up_to(now, sorted(others, key=lambda one: one.order), notes, refused)


def _once_each(
    entries: Iterable[Entry[Line]], notes: Notes, refused: list[RefusedEvent]
) -> dict[str, Entry[Line]]:  # fmt: skip
    """Return one entry for each id: of measurements the most dangerous, or else what was told for the earliest."""
    by_id: dict[str, list[Entry[Line]]] = {}
    for entry in entries:
        by_id.setdefault(entry.event.id, []).append(entry)
    found, twice, unlike = dict[str, Entry[Line]](), list[str](), list[str]()
    for name, alike in by_id.items():
        kept = found[name] = max(sorted(alike, key=lambda one: one.order), key=_how_dangerous)
        seen = dict[Line, bool]()  # whether it was measured
        for entry in alike if len(alike) > 1 else ():
            measured = entry.event.kind in MEASURED
            if not measured and entry.event != kept.event:
                refused.append(_conflicting(entry))
            elif entry.event in seen:
                twice.append(entry.pointer)
            elif measured and True in seen.values():
                unlike.append(f"{entry.pointer}/id")
            seen[entry.event] = measured
    _tell_repeated(twice, unlike, notes)
    return found


def _how_dangerous(entry: Entry[Line]) -> tuple[bool, float, float]:
    """Return by what one line is more dangerous than another: measured at all, then its gauge, then its temperature."""
    line = entry.event
    gauge_bar, temperature_c = getattr(line, "gauge_pressure_bar", None), getattr(line, "temperature_c", None)
    gauge_bar, temperature_c = (-inf if told is None else told for told in (gauge_bar, temperature_c))
    return line.kind in MEASURED, gauge_bar, temperature_c


def _tell_repeated(twice: Sequence[str], unlike: Sequence[str], notes: Notes) -> None:
    if twice:
        text = "Events that came again with the same id and content count once: {count}."
        notes.caution("duplicate-event", "info", text, at=tuple(twice[:MOST_NAMED]), count=float(len(twice)))
    if unlike:
        text = (
            "Of events measured twice under one id, and not alike, the more dangerous counts, by its gauge, then by "
            "its temperature: {count}."
        )
        notes.caution("conflicting-events", "warning", text, at=tuple(unlike[:MOST_NAMED]), count=float(len(unlike)))


def _voids(entry: Entry[Line], known: Mapping[str, Entry[Line]], refused: list[RefusedEvent]) -> bool:
    """Tell whether a void takes back what it names; one that cannot is refused."""
    name = entry.event.voids or ""
    target, params = known.get(name), (("id", name),)
    where = f"{entry.pointer}/voids"
    if target is None:
        fault = Fault(where, "void-of-nothing", "Nothing here has the id {id}, so nothing is voided.", params)
    elif target.event.kind == "voided":
        text = "Tell what happened all the same as an event with an id of its own: {id} is a void itself."
        fault = Fault(where, "void-of-a-void", text, params)
    elif target.event.kind in MEASURED:
        text = "Void no measurement of a vessel under pressure: {id} was charged, read or moved."
        fault = Fault(where, "never-voided", text, params)
    else:
        return True
    refused.append(RefusedEvent(entry.pointer, Refused("log-contradiction", [fault])))
    return False


def _up_to(
    now: datetime, entries: Sequence[Entry[Line]], notes: Notes, refused: list[RefusedEvent]
) -> list[Entry[Line]]:
    """Return those up to now, and as of now what a clock that is a little off tells, or what was measured later.

    A clock that is off hides no danger.
    """
    found, ahead, later = [], list[str](), list[str]()
    for entry in entries:
        if entry.event.at <= now:
            found.append(entry)
            continue
        if entry.event.kind in MEASURED:
            later.append(f"{entry.pointer}/at")
        elif entry.event.at <= now + CLOCK_AHEAD:
            ahead.append(f"{entry.pointer}/at")
        else:
            refused.append(_after_now(entry, now))
            continue
        found.append(replace(entry, event=replace(entry.event, at=now)))
    if ahead:
        text = "Events up to five minutes after now, {now}, by their time count as of now: {count}."
        notes.caution(
            "ahead-of-now", "info", text, at=tuple(ahead[:MOST_NAMED]), now=now.isoformat(), count=float(len(ahead))
        )
    if later:
        text = "Events measured after now, {now}, by their time count as of now: {count}."
        notes.caution(
            "later-than-now", "warning", text, at=tuple(later[:MOST_NAMED]), now=now.isoformat(),
            count=float(len(later)),
        )  # fmt: skip
    return found


def _conflicting(entry: Entry[Line]) -> RefusedEvent:
    text = "The id {id} stands for another event already, which counts; which of them is right cannot be told."
    fault = Fault(f"{entry.pointer}/id", "conflicting-id", text, (("id", entry.event.id),))
    return RefusedEvent(entry.pointer, Refused("log-contradiction", [fault]))


def _after_now(entry: Entry[Line], now: datetime) -> RefusedEvent:
    text = "This event lies after now, {now}: send now as late as the last event, or correct its time."
    fault = Fault(f"{entry.pointer}/at", "after-now", text, (("now", now.isoformat()),))
    return RefusedEvent(entry.pointer, Refused("log-contradiction", [fault]))


def unknown_key(pointer: str, key: str, known: Iterable[str]) -> Refused:
    """Return the refusal of a key that names nothing in the request."""
    text = "Nothing in the request goes by the key {key}; known: {known}."
    params = ("key", key), ("known", listed(sorted(known)) or "none")
    return Refused("unknown-key", [Fault(pointer, "unknown-key", text, params)])

"""What sets the time of an evening, and what one more of it would change, tried out."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from service.evening.answer import Bottleneck, Relief
from service.evening.asked import ServicePlanRequest
from service.evening.planning import Evening, House, Planned, with_one_more
from service.evening.timetable import longest_chain
from service.limits.evening import MOST_CREW, MOST_REGULATORS
from service.notes import Value

SEEN_S = 60
"""Less than this no relief is told."""
_SETS = {
    "crew": ("hands-set-the-time", "The hands set the time: {count} at work."),
    "regulator": ("regulators-set-the-time", "Charging sets the time; regulators: {count}."),
    "cold": ("cold-sets-the-time", "The room in the cold places sets the time: drinks wait for each other there."),
}
_RELIEF = {
    "crew": ("one-more-person", "With one more person it is ready at {ready_at} instead of {now}."),
    "regulator": ("one-more-regulator", "With one more regulator it is ready at {ready_at} instead of {now}."),
    "cold": ("more-cold", "With half as much room again in the cold it is ready at {ready_at} instead of {now}."),
}


def bottleneck_of(evening: Evening, found: Planned) -> Bottleneck:
    """Return what sets the time: that of which a little more saves the most; else the longest chain of one drink."""
    saved = sorted(_saved(evening, found), key=lambda one: one[1])
    relief = tuple(_relief(kind, evening.asked, lasts_s, found) for kind, lasts_s in saved)
    if not saved:
        return _chain(found)
    code, text = _SETS[saved[0][0]]
    counts = {"crew": found.house.crew, "regulator": found.house.regulators}
    params: dict[str, Value] = {"count": float(counts[kind])} if (kind := saved[0][0]) in counts else {}
    return Bottleneck(code, text, params, relief)


def _saved(evening: Evening, found: Planned) -> Iterator[tuple[str, int]]:
    """Yield what would be ready sooner with one more, and how long it would take [s]."""
    for kind, house in with_one_more(found.house):
        if not _within_bounds(house):
            continue
        lasts_s = evening.ready_under_s(house, found.lasts_s - SEEN_S)
        if lasts_s is not None:
            yield kind, lasts_s


def _within_bounds(house: House) -> bool:
    return house.crew <= MOST_CREW and house.regulators <= MOST_REGULATORS


def _relief(kind: str, asked: ServicePlanRequest, lasts_s: int, found: Planned) -> Relief:
    code, text = _RELIEF[kind]
    ready_at, now = (_after(asked, seconds) for seconds in (lasts_s, found.lasts_s))
    return Relief(code, text, {"ready_at": ready_at, "now": now}, ready_at)


def _after(asked: ServicePlanRequest, seconds: int) -> datetime:
    return asked.begins_at + timedelta(seconds=seconds)


def _chain(found: Planned) -> Bottleneck:
    drink = longest_chain(found.work, found.house.gear(found.standing))
    if drink is None:
        return Bottleneck("house-sets-the-time", "What is done for all drinks sets the time.", {}, ())
    text = "{drink} sets the time: its tasks follow each other, whoever helps."
    return Bottleneck("drink-sets-the-time", text, {"drink": drink.asked.spec.name}, ())

"""What sets the time of an evening, and what one more of it would change, tried out."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from service.evening.answer import Bottleneck, Relief
from service.evening.asked import ServicePlanRequest
from service.evening.planning import Evening, House, Planned, with_one_more
from service.evening.refilling import SecondFilling
from service.evening.refusing import there_is_s
from service.evening.timetable import longest_chain
from service.limits.evening import MOST_CREW, MOST_REGULATORS
from service.notes import Value

SEEN_S = 60
"""Less than this no relief is told."""
_SETS = {"crew": "hands-set-the-time", "regulator": "regulators-set-the-time", "cold": "cold-sets-the-time"}
_SET_BY = {
    "hands-set-the-time": "The hands set the time: {count} at work.",
    "regulators-set-the-time": "Charging sets the time; regulators: {count}.",
    "cold-sets-the-time": "The room in the cold places sets the time: drinks wait for each other there.",
}
_RELIEF = {
    "crew": "one-more-person", "regulator": "one-more-regulator", "cold": "more-cold", "vessels": "enough-vessels",
}  # fmt: skip
_RELIEVED = {
    "one-more-person": "With one more person it is ready at {ready_at} instead of {now}.",
    "one-more-regulator": "With one more regulator it is ready at {ready_at} instead of {now}.",
    "more-cold": "With half as much room again in the cold it is ready at {ready_at} instead of {now}.",
    "enough-vessels": "With vessels enough for one filling it is ready at {ready_at} instead of {now}.",
}


def bottleneck_of(evening: Evening, found: Planned, again: Sequence[SecondFilling], ready_at: datetime) -> Bottleneck:
    """Return what sets the time: that of which a little more saves the most; else the longest chain of one drink.

    again: second fillings, which set it where there are any; ready_at: when all is ready
    """
    if again:
        return _second(evening, found.house, ready_at)
    saved = sorted(_saved(evening, found), key=lambda one: one[1])
    relief = tuple(_relief(kind, _after(evening.asked, lasts_s), ready_at) for kind, lasts_s in saved)
    if not saved:
        return _chain(found)
    kind = saved[0][0]
    code = _SETS[kind]
    counts = {"crew": found.house.crew, "regulator": found.house.regulators}
    params: dict[str, Value] = {"count": float(counts[kind])} if kind in counts else {}
    return Bottleneck(code, _SET_BY[code], params, relief)


def _second(evening: Evening, house: House, now: datetime) -> Bottleneck:
    """Return what would do without a second filling: vessels enough, or what makes all of it ready in time."""
    asked = evening.asked
    once = Evening(asked, [one.of(one.fillings) if one.second else one for one in evening.drinks])
    taken = Counter(one.vessel_at for one in once.drinks for _ in range(one.count))
    short = any(taken[j] > kind.count for j, kind in enumerate(asked.vessels))
    houses = [("vessels", house)] if short else list(with_one_more(house))
    relief = []
    for kind, other in houses:
        lasts_s = once.ready_under_s(other, int(there_is_s(asked)) + 1) if _within_bounds(other) else None
        if lasts_s is not None:
            relief.append(_relief(kind, _after(asked, lasts_s), now))
    text = "What is filled again in the service sets the time; vessels: {count}."
    count = float(sum(one.second for one in evening.drinks))
    return Bottleneck("second-filling-sets-the-time", text, {"count": count}, tuple(relief))


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


def _relief(kind: str, ready_at: datetime, now: datetime) -> Relief:
    code = _RELIEF[kind]
    return Relief(code, _RELIEVED[code], {"ready_at": ready_at, "now": now}, ready_at)


def _after(asked: ServicePlanRequest, seconds: int) -> datetime:
    return asked.begins_at + timedelta(seconds=seconds)


def _chain(found: Planned) -> Bottleneck:
    drink = longest_chain(found.work, found.house.gear(found.standing))
    if drink is None:
        return Bottleneck("house-sets-the-time", "What is done for all drinks sets the time.", {}, ())
    text = "{drink} sets the time: its tasks follow each other, whoever helps."
    return Bottleneck("drink-sets-the-time", text, {"drink": drink.asked.spec.name}, ())

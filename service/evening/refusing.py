"""Evenings that cannot be: what is short, and what would work, each of it tried out."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial

from service.errors import Fact, Fault, Nearest, Offer, Refused
from service.evening.asked import ServicePlanRequest
from service.evening.gear import ice_of
from service.evening.lots import NoRoom, standing
from service.evening.planning import Evening, House, Planned, TooManyTasks, with_one_more
from service.evening.prepared import Prepared, shortest_keeping_s
from service.evening.refilling import SecondFilling, second_filling
from service.evening.scheduling import CannotFit
from service.limits.evening import AHEAD_S, MOST_CREW, MOST_FILLED, MOST_REGULATORS, MOST_TASKS, STEP_S
from service.notes import Notes, listed
from service.science.rounding import rounded_up
from service.science.units import Quantity

SLUG = "cannot-be-ready"


def in_vessels(asked: ServicePlanRequest, drinks: Sequence[Prepared]) -> tuple[SecondFilling, ...]:
    """Return the second fillings of an evening that takes more vessels of a kind than there are.

    Of each kind the drink that takes most of it is filled again.

    raises: Refused ("cannot-be-ready") where that does not do
    """
    found: list[SecondFilling] = []
    for j, kind in enumerate(asked.vessels):
        taking = [one for one in drinks if one.vessel_at == j and one.count]
        needed = sum(one.count for one in taking)
        short = needed - kind.count
        if short <= 0:
            continue
        largest = max(taking, key=lambda one: one.count)
        free_s = max((one.ready_s for one in found), default=0.0)
        again = second_filling(asked, drinks, largest, largest.count - short, not_before_s=free_s)
        if again is not None:
            found.append(again)
            continue
        text = "The drinks take {needed} × {vessel}, and there are {count}: {short} are missing."
        params = (
            ("needed", float(needed)), ("vessel", taking[0].vessel.said), ("count", float(kind.count)),
            ("short", float(short)),
        )  # fmt: skip
        facts = [Fact("vessels_needed", float(needed)), Fact("vessels_short", float(short))]
        fault = Fault(f"/vessels/{j}/count", "vessels-short", text, params)
        raise Refused(SLUG, [fault], facts=facts, offers=list(_for_vessels(asked, taking, j, needed, short)))
    return tuple(found)


def _for_vessels(
    asked: ServicePlanRequest, taking: Sequence[Prepared], j: int, needed: int, short: int
) -> Iterator[Offer]:
    others = sum(kind.count for i, kind in enumerate(asked.vessels) if i != j)
    if needed + others <= MOST_FILLED:
        count = float(short)
        yield Offer("more-vessels", "Have {count} more of these vessels.",
                    (Nearest(f"/vessels/{j}/count", needed),), (("count", count),))  # fmt: skip
    largest = max(taking, key=lambda one: one.count)
    if largest.count > short:
        yield _fewer(largest, largest.count - short)


def _fewer(one: Prepared, count: int) -> Offer:
    """Return the offer to make a drink in fewer vessels."""
    serves = count * one.pours + one.ready_serves
    params = (("serves", float(serves)), ("drink", one.asked.spec.name))
    nearest = (Nearest(f"/drinks/{one.index}/demand", {"serves": serves}),)
    return Offer("fewer-serves", "Make {serves} serves of {drink}.", nearest, params)


def check_ice(drinks: Sequence[Prepared], notes: Notes) -> None:
    """Refuse an evening for which the ice of a cold place is too little, and warn where it may be.

    raises: Refused ("cannot-be-ready")
    """
    for place in {one.place.name: one.place for one in drinks if one.place is not None}.values():
        ice = ice_of(drinks, place.name)
        if ice is None or place.ice_g is None or place.at is None or place.ice_g >= ice.to_fetch_g:
            continue
        there, enough = Quantity("mass", place.ice_g, "down"), Quantity("mass", ice.to_fetch_g, "up")
        melts = Quantity("mass", rounded_up(ice.needed_g.typical, 100.0))
        if place.ice_g >= ice.needed_g.low:
            text = "{ice} of ice may not last: about {melts} melts, and as much again should be left. Fetch {enough}."
            notes.caution("little-ice-tonight", "warning", text, at=f"{place.at}/ice", ice=there, melts=melts,
                          enough=enough)  # fmt: skip
            continue
        text = "{ice} of ice is gone before the drinks are cold: about {melts} melts. Fetch {enough}."
        fault = Fault(f"{place.at}/ice", "ice-short", text, (("ice", there), ("melts", melts), ("enough", enough)))
        short = Quantity("mass", melts.value - place.ice_g, "up")
        offer = Offer(
            "more-ice", "Fetch {enough} of ice.", (Nearest(f"{place.at}/ice", enough),), (("enough", enough),)
        )
        raise Refused(SLUG, [fault], facts=[Fact("ice", there), Fact("ice_needed", melts), Fact("ice_short", short)],
                      offers=[offer])  # fmt: skip


def planned_in_time(evening: Evening, house: House, notes: Notes) -> Planned:
    """Return the plan, where all is ready when the service starts.

    raises: Refused ("cannot-be-ready", "too-many-tasks")
    """
    asked, drinks = evening.asked, evening.drinks
    try:
        found = evening.planned(house, notes)
    except TooManyTasks as too_many:
        raise _too_many(asked, drinks, too_many) from None
    except NoRoom as lacks:
        raise _no_room(drinks, house, lacks) from None
    except CannotFit:
        text = "What the drinks take at once is more than there is of it: jugs, or room in a cold place."
        raise Refused(SLUG, [Fault("/drinks", "cannot-fit", text)]) from None
    there_s = there_is_s(asked)
    if found.lasts_s > there_s:
        raise _too_late(evening, found, there_s)
    return found


def filled_again_in_time(evening: Evening, house: House) -> SecondFilling | None:
    """Return the second filling with which all of the first is ready in time, as much of it as can be; None for none.

    One drink is tried: of those whose vessels are told to be washed, the one in most of them.
    """
    asked = evening.asked
    washed = [one for one in evening.drinks if asked.vessels[one.vessel_at].washed_in_s is not None]
    may = [one for one in washed if not one.asked.made_ahead and one.fillings > 1]
    if not may:
        return None
    one, there_s = max(may, key=lambda one: one.fillings), there_is_s(asked)

    def in_time(count: int) -> bool:
        first = replace(one.of(count), second=one.fillings - count)
        return evening.with_changed(first).is_ready_in(house, there_s)

    return second_filling(asked, evening.drinks, one, _most(0, one.count, in_time))


def _most(low: int, high: int, in_time: Callable[[int], bool]) -> int:
    """Return the most vessels that are ready in time. low: are, or none at all; high: are not"""
    while high - low > 1:
        count = (low + high) // 2
        if in_time(count):
            low = count
        else:
            high = count
    return low


def there_is_s(asked: ServicePlanRequest) -> float:
    """Return the time from the begin of the work to the first pour [s]."""
    return (asked.service.starts_at - asked.begins_at).total_seconds()


def _too_many(asked: ServicePlanRequest, drinks: Sequence[Prepared], found: TooManyTasks) -> Refused:
    """Return the refusal of an evening of too many tasks; what keeps may be made the day before."""
    most, tasks = float(MOST_TASKS), float(sum(found.tasks_of.values()))
    text = "This evening has {tasks} tasks; a plan has {most} at most. Make some drinks ahead, or plan them apart."
    fault = Fault("/drinks", "too-many-tasks", text, (("tasks", tasks), ("most", most)))
    left, ahead = tasks, list[Prepared]()
    for one in sorted(_keeping(asked, drinks), key=lambda one: -found.tasks_of[one.index]):
        if left > most:
            left -= found.tasks_of[one.index]
            ahead.append(one)
    nearest = tuple(Nearest(f"/drinks/{one.index}/made_ahead", value=True) for one in ahead)
    names = listed([one.asked.spec.name for one in ahead])
    offer = Offer("made-ahead", "Make {drink} the day before: it keeps.", nearest, (("drink", names),))
    facts = [Fact("tasks", tasks), Fact("most", most)]
    return Refused("too-many-tasks", [fault], facts=facts, offers=[offer] if ahead and left <= most else [])


def _keeping(asked: ServicePlanRequest, drinks: Sequence[Prepared]) -> Iterator[Prepared]:
    """Yield the drinks of tonight that keep until the end of the service if they are made the day before."""
    for one in drinks:
        if one.parts is None or one.asked.made_ahead:
            continue
        keeps_s = shortest_keeping_s(one.parts.batch)
        if keeps_s is not None and keeps_s >= AHEAD_S + asked.service.lasts_s:
            yield one


def _no_room(drinks: Sequence[Prepared], house: House, lacks: NoRoom) -> Refused:
    """Return the refusal of an evening whose vessels the cold places do not take."""
    short = Quantity("volume", lacks.short_ml, "up")
    text = (
        "When the service starts the cold places do not take all that is charged: room for {short} of vessels is "
        "missing. Find room in the cold, or make less."
    )
    fault = Fault("/cold", "cold-short", text, (("short", short),))
    largest_first = sorted(drinks, key=lambda one: -one.count * one.vessel.capacity_ml)
    offers = [offer for one in largest_first if (offer := _fewer_in_the_cold(drinks, one, house)) is not None]
    return Refused(SLUG, [fault], facts=[Fact("cold_short", short)], offers=offers[:2])


def _fewer_in_the_cold(drinks: Sequence[Prepared], one: Prepared, house: House) -> Offer | None:
    """Return the offer to make as many serves of a drink as there is room for; None where that leaves none of it."""
    counts = range(one.count - 1, 0, -1)
    fits = next((count for count in counts if _stands(drinks, one, count, house)), None)
    return None if fits is None else _fewer(one, fits)


def _stands(drinks: Sequence[Prepared], less: Prepared, count: int, house: House) -> bool:
    try:
        standing(_with(drinks, less.of(count)), house.places, 1)
    except NoRoom:
        return False
    return True


def _with(drinks: Sequence[Prepared], changed: Prepared) -> tuple[Prepared, ...]:
    return tuple(changed if one.index == changed.index else one for one in drinks)


def _too_late(evening: Evening, found: Planned, there_s: float) -> Refused:
    """Return the refusal of an evening that takes longer than there is time."""
    asked = evening.asked
    takes, there = Quantity("duration", float(found.lasts_s), "up"), Quantity("duration", there_s, "down")
    ready_at = asked.begins_at + timedelta(seconds=found.lasts_s)
    text = "It takes {takes}, and from the begin of the work to the first pour there are {there}."
    params = (("takes", takes), ("there", there))
    fault = Fault("/service/starts_at", "time-short", text, params)
    short = Quantity("duration", found.lasts_s - there_s, "up")
    facts = [Fact("takes", takes), Fact("there_is", there), Fact("time_short", short)]
    offers = [
        _later(asked, ready_at),
        *_with_less(evening, found, there_s),
        *_ahead(evening, found, there_s),
        *_with_more(evening, found, there_s),
    ]
    return Refused(SLUG, [fault], facts=facts, offers=offers)


def _later(asked: ServicePlanRequest, ready_at: datetime) -> Offer:
    """Return the offer of a later first pour, on a whole step of the clock."""
    late_s = (ready_at - asked.service.starts_at).total_seconds()
    midnight = asked.service.starts_at.replace(hour=0, minute=0, second=0, microsecond=0)
    since_s = (asked.service.starts_at - midnight).total_seconds() + late_s
    starts = midnight + timedelta(seconds=rounded_up(since_s, STEP_S))
    nearest = (Nearest("/service/starts_at", starts.isoformat(timespec="seconds")),)
    return Offer("later-first-pour", "Pour the first glass at {starts_at}.", nearest,
                 (("starts_at", f"{starts:%Y-%m-%d %H:%M}"),))  # fmt: skip


def _hands_s(found: Planned, one: Prepared) -> int:
    """Return the time of people that a drink takes tonight [s]."""
    return sum(task.hands_on_s for task in found.work.tasks if task.drink is not None and task.drink.index == one.index)


def _tonight(drinks: Sequence[Prepared], found: Planned) -> list[Prepared]:
    """Return the drinks that are made tonight, the one that costs most time first."""
    made = [one for one in drinks if one.count and not one.asked.made_ahead]
    return sorted(made, key=lambda one: -_hands_s(found, one))


def _is_in_time(evening: Evening, house: House, there_s: float, one: Prepared, count: int) -> bool:
    """Tell whether an evening is ready in time with so many vessels of a drink."""
    return evening.with_changed(one.of(count)).is_ready_in(house, there_s)


def _with_less(evening: Evening, found: Planned, there_s: float) -> Iterator[Offer]:
    """Yield the offer of fewer serves of the drink that costs most time, where that helps; as many as there is time."""
    for one in _tonight(evening.drinks, found)[:2]:
        if one.count == 1 or not _is_in_time(evening, found.house, there_s, one, 1):
            continue
        most = _most(1, one.count, partial(_is_in_time, evening, found.house, there_s, one))
        yield _fewer(one, most)
        return


def _ahead(evening: Evening, found: Planned, there_s: float) -> Iterator[Offer]:
    """Yield the offer to make a drink the day before, the one that costs most time of those that keep."""
    for one in _keeping(evening.asked, _tonight(evening.drinks, found)):
        before = replace(one, asked=replace(one.asked, made_ahead=True))
        if evening.with_changed(before).is_ready_in(found.house, there_s):
            nearest = (Nearest(f"/drinks/{one.index}/made_ahead", value=True),)
            text = "Make {drink} the day before: it keeps."
            yield Offer("made-ahead", text, nearest, (("drink", one.asked.spec.name),))
            return


def _with_more(evening: Evening, found: Planned, there_s: float) -> Iterator[Offer]:
    """Yield the offers of one more person and of one more regulator, where that is enough."""
    for kind, house in with_one_more(found.house):
        if kind == "cold" or house.crew > MOST_CREW or house.regulators > MOST_REGULATORS:
            continue
        if not evening.is_ready_in(house, there_s):
            continue
        if kind == "crew":
            yield Offer("one-more-person", "Have one more person at work.", (Nearest("/crew", house.crew),))
        else:
            yield Offer("one-more-regulator", "Have one more regulator.", (Nearest("/regulators", house.regulators),))

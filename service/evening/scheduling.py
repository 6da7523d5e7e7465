"""When each activity of a project begins, so that all of it is done soonest with the people and the gear there are.

The resource-constrained project scheduling problem with renewable resources, and two things more: an activity may go on
in stretches that use different things, without a pause between them; and what one activity takes may be held until
another has ended, as bottles stay in the ice until they are charged.

Method: serial schedule generation by several priority rules, each improved forward and backward, then the best list
with pieces of it moved, from a fixed seed: the same project always gives the same schedule.

source: Kolisch and Hartmann 1999, doi:10.1007/978-1-4615-5533-9_7 (schedule generation, priority rules); Tormos and
    Lova 2001, doi:10.1023/A:1010997814183 (forward-backward improvement)
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from heapq import heappop, heappush
from itertools import accumulate, product
from random import Random

FAR = 1 << 60
"""Later than any schedule ends [s]."""
LEVELS = (1, 2, 3, 4, 6, 10, 20)
"""Counts of people or regulators that are tried; of nine people six are scheduled."""
MOVED = 1400
"""Activities of all lists near the best one that are tried: fewer lists of more activities."""
FEW = 4
"""With more people or regulators than so many the rules alone are tried: then few wait for them."""
WORTH_IT = 1.03
"""A list whose first schedule is longer than so many times the best is not improved."""
HOPELESS = 1.1
"""Where the rules find none under so many times the wanted time, no list near theirs is tried."""
REACHES = ((0.25, 0.02), (0.0, 0.12))
"""How far chains and single activities are moved in such lists, by turns, share of the schedule."""


@dataclass(frozen=True)
class Stretch:
    """A part of an activity: how long it lasts [s], above 0, and what it uses, by resource."""

    lasts_s: int
    uses: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Activity:
    """Stretches that follow each other without a pause, once all that stands in `after` has ended."""

    stretches: tuple[Stretch, ...]
    after: tuple[int, ...] = ()

    @cached_property
    def lasts_s(self) -> int:
        return sum(one.lasts_s for one in self.stretches)


@dataclass(frozen=True)
class Hold:
    """An amount that is taken when one activity begins and given back when another ends, whatever lies between.

    since: None for what is held from the beginning; until: None for what is held to the end
    """

    resource: int
    amount: int
    since: int | None
    until: int | None = None


@dataclass(frozen=True)
class Project:
    """A project: activities, and the resources for them. Resources are numbered as they stand in capacities.

    counted: resources of which fewer are tried as well, so that more of one never makes it later
    """

    activities: tuple[Activity, ...]
    capacities: tuple[int, ...]
    holds: tuple[Hold, ...] = ()
    counted: tuple[int, ...] = ()

    @cached_property
    def followers(self) -> tuple[tuple[int, ...], ...]:
        """Activities that come after each."""
        found: list[list[int]] = [[] for _ in self.activities]
        for i, one in enumerate(self.activities):
            for before in one.after:
                found[before].append(i)
        return tuple(map(tuple, found))

    @cached_property
    def in_order(self) -> tuple[int, ...]:
        """Every activity after those that it waits for."""
        return _listed(self, [0.0] * len(self.activities))

    @cached_property
    def heads_s(self) -> tuple[int, ...]:
        """The earliest that each can begin, were there enough of everything [s]."""
        found = [0] * len(self.activities)
        for i in self.in_order:
            found[i] = max([found[j] + self.activities[j].lasts_s for j in self.activities[i].after], default=0)
        return tuple(found)

    @cached_property
    def tails_s(self) -> tuple[int, ...]:
        """The least time from the end of each to the end of all [s]."""
        found = [0] * len(self.activities)
        for i in reversed(self.in_order):
            found[i] = max([found[j] + self.activities[j].lasts_s for j in self.followers[i]], default=0)
        return tuple(found)

    @cached_property
    def lasts(self) -> tuple[tuple[int, ...], ...]:
        """The activities without followers that each one leads to."""
        found: list[set[int]] = [set() for _ in self.activities]
        for i in reversed(self.in_order):
            found[i] = {i}.union(*(found[j] for j in self.followers[i])) - ({i} if self.followers[i] else set())
        return tuple(tuple(sorted(one)) for one in found)

    @cached_property
    def taken(self) -> tuple[tuple[tuple[int, int, int, int], ...], ...]:
        """By activity what it takes: of which resource, from when to when in it [s], and how much."""
        found: list[list[tuple[int, int, int, int]]] = []
        for activity in self.activities:
            offsets = accumulate((one.lasts_s for one in activity.stretches), initial=0)
            found.append([
                (resource, offset, offset + one.lasts_s, amount)
                for one, offset in zip(activity.stretches, offsets, strict=False) for resource, amount in one.uses
            ])  # fmt: skip
        for hold in self.holds:
            if hold.since is not None:
                found[hold.since].append((hold.resource, 0, FAR, hold.amount))
        return tuple(map(tuple, found))

    @cached_property
    def given_back(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """By activity what is given back when it ends: of which resource, and how much."""
        found: list[list[tuple[int, int]]] = [[] for _ in self.activities]
        for hold in self.holds:
            if hold.until is not None:
                found[hold.until].append((hold.resource, hold.amount))
        return tuple(map(tuple, found))

    @cached_property
    def reversed(self) -> "Project":
        """The same project run backward."""
        activities = tuple(Activity(one.stretches[::-1], self.followers[i]) for i, one in enumerate(self.activities))
        holds = tuple(replace(hold, since=hold.until, until=hold.since) for hold in self.holds)
        return Project(activities, self.capacities, holds)

    def least_s(self) -> int:
        """Return a time that no schedule is shorter than: the longest chain, or the work that one resource has [s]."""
        chain = max((h + a.lasts_s + t for h, a, t in zip(self.heads_s, self.activities, self.tails_s, strict=True)),
                    default=0)  # fmt: skip
        return max([chain, *(self._least_of(r) for r in range(len(self.capacities)))])

    def _least_of(self, resource: int) -> int:
        """Return the time that the work of a resource takes, after the earliest of it and before the last [s]."""
        taken = self._takes[resource]
        if not taken:
            return 0
        if self.capacities[resource] < max(one[1] for one in taken):
            return FAR
        work = sum(lasts * amount for lasts, amount, _, _ in taken)
        head, tail = min(one[2] for one in taken), min(one[3] for one in taken)
        return head + -(-work // self.capacities[resource]) + tail

    @cached_property
    def _takes(self) -> tuple[tuple[tuple[int, int, int, int], ...], ...]:
        """By resource: how long an amount is taken at least, the amount, and the time before and after it [s]."""
        found: list[list[tuple[int, int, int, int]]] = [[] for _ in self.capacities]
        for i, activity in enumerate(self.activities):
            before = self.heads_s[i]
            after = self.tails_s[i] + activity.lasts_s
            for one in activity.stretches:
                after -= one.lasts_s
                for resource, amount in one.uses:
                    found[resource].append((one.lasts_s, amount, before, after))
                before += one.lasts_s
        for hold in self.holds:
            since = 0 if hold.since is None else self.heads_s[hold.since]
            after = 0 if hold.until is None else self.tails_s[hold.until]
            found[hold.resource].append((self._held_s(hold), hold.amount, since, after))
        return tuple(map(tuple, found))

    def _held_s(self, hold: Hold) -> int:
        """Return the least time that a hold lasts: the longest chain from its begin to its end [s]."""
        if hold.since is None:
            return 0 if hold.until is None else self.heads_s[hold.until] + self.activities[hold.until].lasts_s
        if hold.until is None:
            return self.activities[hold.since].lasts_s + self.tails_s[hold.since]
        ends = {hold.since: self.activities[hold.since].lasts_s}
        for i in self.in_order:
            before = [ends[j] for j in self.activities[i].after if j in ends]
            if before and i not in ends:
                ends[i] = max(before) + self.activities[i].lasts_s
        return ends.get(hold.until, 0)


@dataclass(frozen=True)
class Schedule:
    """When each activity begins [s], every one as late as it may for all to end in time; ends_s: when all is done."""

    begins_s: tuple[int, ...]
    ends_s: int


Searched = dict[tuple[int, ...], Schedule | None]
"""The best schedules of the same activities, by the capacities they are for; None where nothing fits."""


class CannotFit(Exception):
    """An activity uses more of a resource than there is, or what is held never leaves room for the rest."""


def schedule(project: Project, *, enough_s: int = 0, under_s: int = FAR, searched: Searched | None = None) -> Schedule:
    """Return the shortest schedule that is found, or the first that is not over `enough_s`.

    A schedule for fewer people or regulators is one for more: the better of them is kept.

    under_s: a longer one is of no use, and is not looked for where the rules come to far more
    searched: what was found for these activities with other capacities, which is kept there
    raises: CannotFit
    """
    if not project.activities:
        return Schedule((), 0)
    known = {} if searched is None else searched
    best: Schedule | None = None
    for tried in _with_fewer(project):
        if best is None or enough_s < best.ends_s > tried.least_s():
            found = _known_or_searched(tried, enough_s, under_s, known)
            if found is not None and (best is None or found.ends_s < best.ends_s):
                best = found
    if best is None:
        raise CannotFit
    return best


def _with_fewer(project: Project) -> Iterator[Project]:
    """Yield the project with the counts it has as far as they are tried, then with fewer; the most first."""
    levels = [
        [most for most in LEVELS if most <= capacity] if resource in project.counted else [capacity]
        for resource, capacity in enumerate(project.capacities)
    ]
    for capacities in sorted(product(*levels), key=lambda one: (-sum(one[r] for r in project.counted), one)):
        yield replace(project, capacities=capacities) if capacities != project.capacities else project


def _known_or_searched(project: Project, enough_s: int, under_s: int, known: Searched) -> Schedule | None:
    """Return what is known of a project, or look for it; kept only where nothing cut the search short."""
    if project.capacities in known:
        return known[project.capacities]
    found = _search(project, enough_s, under_s)
    if found is None or enough_s < found.ends_s <= under_s:
        known[project.capacities] = found
    return found


def _search(project: Project, enough_s: int, under_s: int) -> Schedule | None:
    """Return the best schedule by the rules and near them; None where nothing fits."""
    search = _Search(project, max(enough_s, project.least_s()))
    for rule in RULES:
        if search.is_over_after(_listed(project, rule(project))):
            return search.best
    if search.best is None or search.best.ends_s > HOPELESS * under_s or _many(project):
        return search.best
    random = Random(len(project.activities))  # noqa: S311 - a fixed sequence, for a search
    for i in range(MOVED // len(project.activities)):
        if search.is_over_after(_moved(project, search.best, REACHES[i % 2], random)):
            break
    return search.best


def _many(project: Project) -> bool:
    """Tell whether there is more of a counted resource than a search near the rules is worth while for."""
    return any(project.capacities[resource] > FEW for resource in project.counted)


def roughly_s(project: Project) -> int:
    """Return how long the best schedule by the rules takes, with all that there is [s]; FAR where nothing fits."""
    found = _search(project, 0, 0)
    return FAR if found is None else found.ends_s


class _Search:
    """The best schedule so far. least_s: no shorter one is needed, or there is"""

    def __init__(self, project: Project, least_s: int) -> None:
        self.project, self.backward, self.least_s = project, project.reversed, least_s
        self.best: Schedule | None = None

    def is_over_after(self, order: Sequence[int]) -> bool:
        """Try a list; tell whether there is nothing left to find."""
        project, best = self.project, self.best
        begins = _serial(project, order, FAR if best is None else int(WORTH_IT * best.ends_s))
        if begins is not None:
            found = _improved(project, self.backward, begins)
            if found is not None and (best is None or found.ends_s <= best.ends_s):
                self.best = found
        return self.best is not None and self.best.ends_s <= self.least_s


def _improved(project: Project, backward: Project, begins: Sequence[int]) -> Schedule | None:
    """Return a schedule set backward from its end and forward again while that makes it shorter."""
    best: Schedule | None = None
    forward: Sequence[int] | None = begins
    while forward is not None:
        late = _serial(backward, _by(_ends(project, forward), latest=True))
        if late is None:
            break
        ends = _ends(backward, late)
        ends_s = max(ends)
        if best is not None and ends_s >= best.ends_s:
            break
        best = Schedule(tuple(ends_s - end for end in ends), ends_s)
        forward = _serial(project, _by(best.begins_s))
    return best


def _ends(project: Project, begins: Sequence[int]) -> list[int]:
    return [begin + one.lasts_s for begin, one in zip(begins, project.activities, strict=True)]


def _by(moments: Sequence[int], *, latest: bool = False) -> list[int]:
    return sorted(range(len(moments)), key=moments.__getitem__, reverse=latest)


def _listed(project: Project, priorities: Sequence[float]) -> tuple[int, ...]:
    """Return every activity after those it waits for; of those that may come next the one of the least priority."""
    waits = [len(one.after) for one in project.activities]
    ready = [(priorities[i], i) for i, count in enumerate(waits) if not count]
    ready.sort()
    order = []
    while ready:
        _, i = heappop(ready)
        order.append(i)
        for j in project.followers[i]:
            waits[j] -= 1
            if not waits[j]:
                heappush(ready, (priorities[j], j))
    return tuple(order)


def _moved(project: Project, best: Schedule, reach: tuple[float, float], random: Random) -> tuple[int, ...]:
    """Return a list near a schedule: activities by when they begin, those of one chain sooner or later together."""
    chains, alone = (share * best.ends_s for share in reach)
    sooner = {last: random.gauss(0.0, chains) for last in range(len(project.activities)) if not project.followers[last]}
    moved = [
        begin + sum(sooner[last] for last in lasts) / len(lasts) + random.gauss(0.0, alone)
        for begin, lasts in zip(best.begins_s, project.lasts, strict=True)
    ]
    return _listed(project, moved)


Rule = Callable[[Project], Sequence[float]]


def _latest_end(project: Project) -> Sequence[float]:
    """The activity that leads the longest way to the end first (LFT)."""
    return [-float(tail) for tail in project.tails_s]


def _latest_begin(project: Project) -> Sequence[float]:
    """The same with its own time (LST)."""
    return [-float(tail + one.lasts_s) for tail, one in zip(project.tails_s, project.activities, strict=True)]


def _most_work_behind(project: Project) -> Sequence[float]:
    """The activity with the most time in itself and right behind it first (GRPW)."""
    lasts = [one.lasts_s for one in project.activities]
    return [-float(lasts[i] + sum(lasts[j] for j in project.followers[i])) for i in range(len(lasts))]


def _slack_first(project: Project) -> Sequence[float]:
    """The activity with the least room between its earliest and its latest begin first (MSLK)."""
    return [-float(h + a.lasts_s + t) for h, a, t in zip(project.heads_s, project.activities, project.tails_s,
                                                        strict=True)]  # fmt: skip


RULES: tuple[Rule, ...] = (_latest_end, _latest_begin, _most_work_behind, _slack_first)


class _Profile:
    """The free amount of one resource, from each of these moments on."""

    def __init__(self, capacity: int) -> None:
        self.at, self.free = [0], [capacity]

    def clash(self, begin: int, end: int, amount: int) -> int:
        """Return the end of a time within which less than an amount is free; 0 where there is none, FAR for ever."""
        at, free = self.at, self.free
        i = bisect_right(at, begin) - 1
        last = len(at) - 1
        while True:
            if free[i] < amount:
                while i < last and free[i] < amount:
                    i += 1
                return FAR if free[i] < amount else at[i]
            if i == last or at[i + 1] >= end:
                return 0
            i += 1

    def take(self, begin: int, end: int, amount: int) -> None:
        """Take an amount for a time; a negative one gives it back."""
        i, j = self._cut(begin), self._cut(end) if end < FAR else len(self.at)
        free = self.free
        for k in range(i, j):
            free[k] -= amount

    def _cut(self, moment: int) -> int:
        """Return the place of a moment, where there is one from now on."""
        at = self.at
        i = bisect_right(at, moment)
        if at[i - 1] == moment:
            return i - 1
        at.insert(i, moment)
        self.free.insert(i, self.free[i - 1])
        return i


def _serial(project: Project, order: Sequence[int], within_s: int = FAR) -> list[int] | None:
    """Return when each activity begins, placed one after the other where it fits first; None where something cannot.

    order: every activity after those that it waits for. One that nothing leaves room for yet waits for a later one.
    within_s: a schedule that ends later is none
    """
    placing = _Placing(project)
    latest_s = [within_s - one.lasts_s - tail for one, tail in zip(project.activities, project.tails_s, strict=True)]
    waiting = list(order)
    while waiting:
        place = next((k for k, i in enumerate(waiting) if placing.place(i)), None)
        if place is None or placing.begins[waiting[place]] > latest_s[waiting[place]]:
            return None
        del waiting[place]
    return placing.begins


class _Placing:
    """A schedule while it is made."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.begins = [-1] * len(project.activities)
        self.profiles = [_Profile(capacity) for capacity in project.capacities]
        for hold in project.holds:
            if hold.since is None:
                self.profiles[hold.resource].take(0, FAR, hold.amount)

    def place(self, i: int) -> bool:
        """Place an activity where it fits first, if what it waits for is placed and it fits at all."""
        activities, begins, profiles = self.project.activities, self.begins, self.profiles
        begin = 0
        for j in activities[i].after:
            if begins[j] < 0:
                return False
            begin = max(begin, begins[j] + activities[j].lasts_s)
        taken = self.project.taken[i]
        while True:
            for resource, offset, end, amount in taken:
                clash = profiles[resource].clash(begin + offset, begin + end, amount)
                if clash:
                    break
            else:
                break
            if clash >= FAR:
                return False
            begin = clash - offset
        begins[i] = begin
        for resource, offset, end, amount in taken:
            profiles[resource].take(begin + offset, min(FAR, begin + end), amount)
        for resource, amount in self.project.given_back[i]:
            profiles[resource].take(begin + activities[i].lasts_s, FAR, -amount)
        return True

"""The tasks of an evening on the clock, each as late as it may: from tasks to a project, and from its schedule back."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate, pairwise

from service.evening.prepared import Prepared
from service.evening.scheduling import Activity, Hold, Project, Schedule, Stretch
from service.evening.tasks import Held, Task, Work

Gear = Mapping[tuple[str, str], int]
"""How much there is of each resource that runs short, by its kind and name; ml of a cold place."""


@dataclass(frozen=True)
class Timed:
    """A task with its times, counted from the begin of the work [s].

    person, regulator: who does it and on which, numbered from 1; None where it takes none
    """

    task: Task
    begins_s: int
    ends_s: int
    person: int | None = None
    regulator: int | None = None


class _Blocks:
    """Tasks that follow each other without a pause, together one activity of a project."""

    def __init__(self, work: Work, gear: Gear) -> None:
        self.work, self.gear = work, gear
        self.resources = {key: i for i, key in enumerate(gear)}
        self.blocks: list[list[Task]] = []
        for one in work.tasks:
            if one.glued:
                self.blocks[-1].append(one)
            else:
                self.blocks.append([one])
        self.of = {task.id: i for i, block in enumerate(self.blocks) for task in block}

    @cached_property
    def project(self) -> Project:
        """Return the project; what is held is left to its holds."""
        held = {(one.use.kind, one.use.name) for one in self.work.held}
        activities = tuple(
            Activity(tuple(self._stretches(block, held)), tuple(self._after(i, block)))
            for i, block in enumerate(self.blocks)
        )
        counted = tuple(i for key, i in self.resources.items() if key[0] in ("crew", "regulator"))
        return Project(activities, tuple(self.gear.values()), tuple(self._holds()), counted)

    def _stretches(self, block: Sequence[Task], held: set[tuple[str, str]]) -> Iterator[Stretch]:
        before: Stretch | None = None
        for task in block:
            uses = tuple(
                (self.resources[key], one.amount)
                for one in task.uses
                if (key := (one.kind, one.name)) in self.resources and key not in held
            )
            if before is not None and before.uses == uses:
                before = Stretch(before.lasts_s + task.lasts_s, uses)
                continue
            if before is not None:
                yield before
            before = Stretch(task.lasts_s, uses)
        assert before is not None
        yield before

    def _after(self, i: int, block: Sequence[Task]) -> Iterator[int]:
        yield from dict.fromkeys(at for task in block for one in task.after if (at := self.of[one]) != i)

    def _holds(self) -> Iterator[Hold]:
        for one in self.work.held:
            resource = self.resources.get((one.use.kind, one.use.name))
            if resource is not None:
                until = None if one.until is None else self.of[one.until]
                yield Hold(resource, one.use.amount, self.of[one.since], until)

    def timed(self, found: Schedule) -> Iterator[Timed]:
        """Yield the tasks with their times; waits go on until what comes after them begins."""
        for block, begins_s in zip(self.blocks, found.begins_s, strict=True):
            moments = accumulate((task.lasts_s for task in block), initial=begins_s)
            yield from (Timed(task, *ends) for task, ends in zip(block, pairwise(moments), strict=True))


def project_of(work: Work, gear: Gear) -> Project:
    """Return the project that the tasks are, with what there is to do them with."""
    return _Blocks(work, gear).project


def timed_of(work: Work, gear: Gear, found: Schedule) -> tuple[Timed, ...]:
    """Return the tasks on the clock by a schedule of their project, in the order in which they begin."""
    timed = list(_waited(list(_Blocks(work, gear).timed(found)), work, found.ends_s))
    timed.sort(key=lambda one: (one.begins_s, one.ends_s, one.task.id))
    return tuple(_assigned(timed))


def _waited(timed: Sequence[Timed], work: Work, ends_s: int) -> Iterator[Timed]:
    """Yield the tasks, waits in the cold going on until the next task, and what vessels and batches stand in."""
    by_id = {one.task.id: one for one in timed}
    follows: dict[str, int] = {}
    for one in timed:
        for before in one.task.after:
            follows[before] = min(follows.get(before, ends_s), one.begins_s)
    for one in timed:
        in_the_cold = any(use.kind == "cold" for use in one.task.uses)
        if one.task.waits and in_the_cold and one.task.id in follows:
            yield replace(one, ends_s=follows[one.task.id])
        else:
            yield one
    for held in work.held:
        if held.after is not None and by_id[held.after].ends_s < ends_s:
            yield _standing(held, by_id[held.after], ends_s)
        in_hand = sorted((by_id[at] for at in held.at), key=lambda one: one.begins_s)
        for earlier, later in pairwise(in_hand):
            if earlier.ends_s < later.begins_s:
                yield _standing(held, earlier, later.begins_s)


def soonest(tasks: Sequence[Task]) -> tuple[Timed, ...]:
    """Return tasks on the clock, each as soon as those that it waits for have ended, as hands enough could do them."""
    blocks = _Blocks(Work(tuple(tasks), (), ()), {})
    return tuple(blocks.timed(Schedule(blocks.project.heads_s, 0)))


_STANDING = {
    "stands-cold": "Stands upright in the cold until it is served, out of sun and away from heat.",
    "stands-in-jug": "Stands in its jug until it is filled.",
}


def _standing(held: Held, before: Timed, ends_s: int) -> Timed:
    """Return the wait of what stands in the cold until it is served, or in a jug until it is filled."""
    last = before.task
    code = "stands-in-jug" if held.use.kind == "jug" else "stands-cold"
    wait = Task(
        f"{last.id}h", "bench", code, _STANDING[code], ends_s - before.ends_s, 0, (held.use,), (last.id,),
        drink=held.drink,
    )  # fmt: skip
    return Timed(wait, before.ends_s, ends_s)


def _assigned(timed: Sequence[Timed]) -> Iterator[Timed]:
    """Yield the tasks, each with a person and a regulator that are free, if so those that had the drink before."""
    people, regulators = _Taken(), _Taken()
    for one in timed:
        kinds = {use.kind for use in one.task.uses}
        person = people.for_task(one) if "crew" in kinds else None
        regulator = regulators.for_task(one) if "regulator" in kinds else None
        yield replace(one, person=person, regulator=regulator)


class _Taken:
    """Until when each of several alike is taken, and by which drink."""

    def __init__(self) -> None:
        self.until_s: list[int] = []
        self.drink: list[object] = []

    def for_task(self, one: Timed) -> int:
        """Return the number of one that is free: the one that had this drink last, else the one that was idle least."""
        free = [i for i, until in enumerate(self.until_s) if until <= one.begins_s]
        if not free:
            self.until_s.append(0)
            self.drink.append(None)
            free = [len(self.until_s) - 1]
        best = max(free, key=lambda i: (self.drink[i] is one.task.drink, self.until_s[i], -i))
        self.until_s[best], self.drink[best] = one.ends_s, one.task.drink
        return best + 1


def longest_chain(work: Work, gear: Gear) -> Prepared | None:
    """Return the drink whose tasks take the longest, one after the other; None where it is what is done for all."""
    blocks = _Blocks(work, gear)
    project = blocks.project
    lasts = [h + a.lasts_s + t for h, a, t in zip(project.heads_s, project.activities, project.tails_s, strict=True)]
    if not lasts:
        return None
    longest = max(lasts)
    drinks = (block[0].drink for block, one in zip(blocks.blocks, lasts, strict=True) if one == longest)
    return next((one for one in drinks if one is not None), None)

"""An evening planned: the drinks in lots, the lots on the clock, as soon ready as the people and the gear allow."""

from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from service.errors import Refused, SeveralRefused
from service.evening.asked import Jugs, ServicePlanRequest
from service.evening.lots import NoRoom, Standing, standing
from service.evening.places import Place
from service.evening.prepared import Prepared, prepared, tonight_ml
from service.evening.scheduling import FAR, HOPELESS, CannotFit, Schedule, Searched, roughly_s, schedule
from service.evening.tasks import Known, Work, caution_jugs, jug_name, work_of
from service.evening.timetable import Gear, Timed, project_of, timed_of
from service.limits.evening import MOST_TASKS
from service.notes import Notes, SilentNotes

SPLITS = (1, 2, 3)
"""Into so many lots drinks of many vessels are split; into three only where as many are charged at once."""


@dataclass(frozen=True)
class House:
    """The people and the gear of an evening."""

    crew: int
    regulators: int
    places: tuple[Place, ...]
    jugs: tuple[Jugs, ...]

    def gear(self, held: Standing) -> Gear:
        """Return how much there is of each thing that may run short, less what stands there from before."""
        cold = {
            ("cold", one.name): round(one.holds_ml) - held.stock_ml.get(one.name, 0)
            for one in self.places
            if one.holds_ml is not None
        }
        jugs = {("jug", jug_name(one)): one.count for one in self.jugs}
        return {("crew", "crew"): self.crew, ("regulator", "regulator"): self.regulators, **cold, **jugs}

    def splits(self) -> Iterator[int]:
        """Yield into how many lots drinks are split, one after the other."""
        yield from (split for split in SPLITS if split <= max(2, min(self.crew, self.regulators)))


def house_of(asked: ServicePlanRequest, places: Sequence[Place], notes: Notes) -> House:
    """Return the people and the gear: as stated, else those of the site, else one."""
    site = asked.site
    crew = asked.crew or (site.crew if site else None)
    regulators = asked.regulators or (site.regulators if site else None)
    if crew is None:
        notes.assume("people at work", 1.0, "default", at="/crew", code="crew")
    if regulators is None:
        notes.assume("regulators", 1.0, "default", at="/regulators")
    return House(crew or 1, regulators or 1, tuple(places), asked.jugs)


class TooManyTasks(Exception):
    """A plan would have more tasks than one may have. tasks_of: how many, by drink; -1 for those of the house"""

    def __init__(self, work: Work) -> None:
        taking = [one.drink for one in work.tasks] + [one.drink for one in work.held for _ in range(one.waits)]
        self.tasks_of = Counter(-1 if drink is None else drink.index for drink in taking)
        super().__init__(f"{self.tasks_of.total()} tasks")


@dataclass(frozen=True)
class Planned:
    """The work of an evening, and when each task of it is done."""

    house: House
    standing: Standing
    work: Work
    schedule: Schedule

    @property
    def lasts_s(self) -> int:
        """Return the time from the first task until all is ready [s]."""
        return self.schedule.ends_s

    @property
    def timed(self) -> tuple[Timed, ...]:
        """Return the tasks on the clock."""
        return timed_of(self.work, self.house.gear(self.standing), self.schedule)


class Evening:
    """The drinks of an evening, for which plans are made with this house or another; the same lots are written once."""

    def __init__(self, asked: ServicePlanRequest, drinks: Sequence[Prepared], known: Known | None = None) -> None:
        self.asked, self.drinks = asked, tuple(drinks)
        self._known: Known = {} if known is None else known
        self._written: list[tuple[Standing, Work, Searched]] = []

    def with_changed(self, one: Prepared) -> "Evening":
        """Return the evening with one of its drinks changed; the tasks of the others are not written again."""
        drinks = [one if one.index == other.index else other for other in self.drinks]
        return Evening(self.asked, drinks, self._known)

    def planned(self, house: House, notes: Notes) -> Planned:
        """Return the plan that is ready soonest, in the fewest lots that are.

        raises: NoRoom, TooManyTasks, CannotFit
        """
        found = list(self._tried(house))
        if not found:
            raise CannotFit
        best = min(found, key=lambda one: one.lasts_s)
        caution_jugs(self.asked.jugs, self.drinks, notes)
        return best

    def roughly_s(self, house: House) -> int:
        """Return how long all of it takes by the rules alone, in the fewest lots [s].

        raises: NoRoom, TooManyTasks
        """
        held = standing(self.drinks, house.places, 1)
        work, _ = self._work(held)
        if len(work.tasks) > MOST_TASKS:
            raise TooManyTasks(work)
        return roughly_s(project_of(work, house.gear(held)))

    def ready_under_s(self, house: House, under_s: int) -> int | None:
        """Return how long all of it takes, tried out in silence [s]; None where that is not less than `under_s`."""
        try:
            found = min((one.lasts_s for one in self._tried(house, under_s=under_s)), default=under_s)
        except (NoRoom, TooManyTasks):
            return None
        return found if found < under_s else None

    def is_ready_in(self, house: House, within_s: float) -> bool:
        """Tell whether all of it can be done in a time, tried out in silence."""
        try:
            tried = self._tried(house, enough_s=int(within_s), under_s=int(within_s) + 1)
            return any(one.lasts_s <= within_s for one in tried)
        except (NoRoom, TooManyTasks):
            return False

    def _tried(self, house: House, *, enough_s: int = 0, under_s: int = FAR) -> Iterator[Planned]:
        """Yield the plan for each way to split the drinks into lots, but for those that take `under_s` at the least.

        raises: NoRoom, TooManyTasks where even the fewest lots are too many tasks
        """
        known: list[Standing] = []
        for split, places in self._ways(house):
            try:
                held = standing(self.drinks, places, split)
            except NoRoom:
                if not known:
                    raise
                continue
            if held in known:
                continue
            work, searched = self._work(held)
            if len(work.tasks) + sum(one.waits for one in work.held) > MOST_TASKS:
                if known:
                    return
                raise TooManyTasks(work)
            known.append(held)
            project = project_of(work, house.gear(held))
            if project.least_s() < under_s:
                with suppress(CannotFit):
                    yield Planned(house, held, work, schedule(project, enough_s=enough_s, under_s=under_s,
                                                              searched=searched))  # fmt: skip

    def _ways(self, house: House) -> Iterator[tuple[int, Sequence[Place]]]:
        """Yield into how many lots drinks are split, and the places that they stand in.

        Those that are faster than any that is chilled in are left out by turns, so that one more makes none later.
        """
        names = [one.name for one in house.places]
        passed = min((names.index(one.place.name) for one in self.drinks if one.place is not None), default=0)
        for split in house.splits():
            yield split, house.places
            if passed:
                yield split, house.places[passed:]

    def _work(self, held: Standing) -> tuple[Work, Searched]:
        """Return the work of these lots, and the schedules of it that are known."""
        for known, work, searched in self._written:
            if known == held:
                return work, searched
        self._written.append((held, work_of(self.asked, self.drinks, held, self._known), {}))
        return self._written[-1][1:]


def chilling_in(asked: ServicePlanRequest, places: Sequence[Place], house: House) -> Sequence[Place]:
    """Return the places that drinks chill in, the fastest of them first.

    Where that does not take all at once, it is passed by if all is ready sooner so: a small bath more makes none later.
    """
    if len(places) == 1 or places[0].holds_ml is None or tonight_ml(asked) <= places[0].holds_ml:
        return places
    rough: list[tuple[int, int, Evening]] = []
    for passed in range(len(places)):
        with suppress(Refused, SeveralRefused, NoRoom, TooManyTasks):
            tried = Evening(asked, prepared(asked, places[passed:], SilentNotes()))
            rough.append((tried.roughly_s(house), passed, tried))
    least_s = min((lasts_s for lasts_s, _, _ in rough), default=0)
    near = [(passed, tried) for lasts_s, passed, tried in rough if lasts_s <= HOPELESS * least_s]
    best, under_s = near[0][0] if near else 0, FAR
    for passed, tried in near if len(near) > 1 else []:
        lasts_s = tried.ready_under_s(house, under_s)
        if lasts_s is not None:
            best, under_s = passed, lasts_s
    return places[best:]


def with_one_more(house: House) -> Iterator[tuple[str, House]]:
    """Yield the house with one more person, one more regulator, or half as much cold again."""
    yield "crew", replace(house, crew=house.crew + 1)
    yield "regulator", replace(house, regulators=house.regulators + 1)
    if any(one.holds_ml is not None for one in house.places):
        larger = (one if one.holds_ml is None else replace(one, holds_ml=1.5 * one.holds_ml) for one in house.places)
        yield "cold", replace(house, places=tuple(larger))

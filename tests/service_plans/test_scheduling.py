"""The scheduling of an evening, against CP-SAT, PSPLIB and cases by hand; more people or gear never make it later."""

import copy
from collections import defaultdict
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import pytest

from service.api.openapi import example
from service.evening.scheduling import Activity, CannotFit, Hold, Project, Schedule, Stretch, schedule
from service.evening.timetable import project_of
from tests.published import DATA
from tests.service_plans.against_cp_sat import held_against
from tests.service_plans.random_evenings import evening, plan_of

MEAN, WORST = 0.05, 0.15
"""How much longer than the optimum, or than the time that CP-SAT proves none is shorter than, schedules may be."""


def activity(*stretches, after=()):
    """An activity of stretches, each with its length and its uses by resource."""
    return Activity(tuple(Stretch(lasts, tuple(uses.items())) for lasts, uses in stretches), tuple(after))


def check(project: Project, found: Schedule) -> None:
    """A schedule keeps to the order, the capacities and the holds at every moment; written apart from the service."""
    ends = [begin + one.lasts_s for begin, one in zip(found.begins_s, project.activities, strict=True)]
    assert max(ends) == found.ends_s
    assert min(found.begins_s) >= 0
    changes: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for i, one in enumerate(project.activities):
        assert all(ends[j] <= found.begins_s[i] for j in one.after)
        moment = found.begins_s[i]
        for stretch in one.stretches:
            for resource, amount in stretch.uses:
                changes[resource][moment] += amount
                changes[resource][moment + stretch.lasts_s] -= amount
            moment += stretch.lasts_s
    for hold in project.holds:
        changes[hold.resource][0 if hold.since is None else found.begins_s[hold.since]] += hold.amount
        changes[hold.resource][found.ends_s if hold.until is None else ends[hold.until]] -= hold.amount
    for resource, by_moment in changes.items():
        taken = 0
        for moment in sorted(by_moment):
            taken += by_moment[moment]
            assert taken <= project.capacities[resource]


def psplib(path: Path) -> Project:
    """A single-mode instance of PSPLIB as a project; what takes no time, its ends, is left out."""
    lines = path.read_text(encoding="utf-8").splitlines()
    order = lines.index("PRECEDENCE RELATIONS:") + 2
    jobs = next(i for i, line in enumerate(lines) if line.startswith("REQUESTS/DURATIONS"))
    there = next(i for i, line in enumerate(lines) if line.startswith("RESOURCEAVAILABILITIES"))
    follow = [list(map(int, line.split()))[3:] for line in lines[order : jobs - 1]]
    rows = [list(map(int, line.split())) for line in lines[jobs + 3 : there - 1]]
    inner = [i for i, row in enumerate(rows) if row[2]]
    activities = tuple(
        activity(
            (rows[i][2], {r: amount for r, amount in enumerate(rows[i][3:]) if amount}),
            after=[inner.index(j) for j in inner if i + 1 in follow[j]],
        )
        for i in inner
    )
    return Project(activities, tuple(map(int, lines[there + 2].split())))


def test_an_instance_of_psplib_is_solved_to_its_optimum():
    """PSPLIB, set j30, instance 1 of parameter 1 (Kolisch and Sprecher 1996), as it lies in the test data of OR-Tools.

    Its optimum of 43 is from memory of PSPLIB's list of optima; CP-SAT proves it as well.
    """
    project = psplib(DATA / "psplib_j301_1.sm")
    found = schedule(project)
    check(project, found)
    assert len(project.activities) == 30
    assert found.ends_s == 43


def test_one_person_does_one_thing_after_the_other_and_two_share():
    """By hand: 3 + 5 + 4 h of work that waits for nothing is 12 h for one, and for two 7 h, as 5 and 3 + 4 are."""
    things = tuple(activity((hours, {0: 1})) for hours in (3, 5, 4))
    assert schedule(Project(things, (1,))).ends_s == 12
    assert schedule(Project(things, (2,))).ends_s == 7


def test_a_wait_takes_nobody_and_what_is_held_is_not_free():
    """By hand: load (1), wait (10), unload (1) of two lots. With room for both 13: the second is loaded after the first
    and unloaded after it; with room for one 24."""
    lots = [one for i in (0, 2) for one in (activity((1, {0: 1}), (10, {})), activity((1, {0: 1}), after=[i]))]
    for room, hours in ((2, 13), (1, 24)):
        holds = (Hold(1, 1, 0, 1), Hold(1, 1, 2, 3))
        project = Project(tuple(lots), (1, room), holds)
        found = schedule(project)
        check(project, found)
        assert found.ends_s == hours


def test_what_stays_to_the_end_leaves_no_room_for_the_next_to_pass_through():
    """By hand: room for two. The lot that stays goes in once the first of two others has left, 12, and takes 11: 23."""
    stays = activity((1, {0: 1}), (10, {}))
    passes = [one for i in (1, 3) for one in (activity((1, {0: 1}), (10, {})), activity((1, {0: 1}), after=[i]))]
    holds = (Hold(1, 1, 0), Hold(1, 1, 1, 2), Hold(1, 1, 3, 4))
    project = Project((stays, *passes), (1, 2), holds)
    found = schedule(project)
    check(project, found)
    assert found.ends_s == 23


def test_what_does_not_fit_is_told():
    with pytest.raises(CannotFit):
        schedule(Project((activity((1, {0: 2})),), (1,)))
    with pytest.raises(CannotFit):
        schedule(Project((activity((1, {})),), (1,), (Hold(0, 2, 0),)))


def test_nothing_to_do_takes_no_time():
    assert schedule(Project((), (1,))) == Schedule((), 0)


def test_every_activity_is_as_late_as_it_may():
    """What nothing waits for and nothing else needs ends with all the rest."""
    project = Project((activity((5, {0: 1})), activity((1, {1: 1}))), (1, 1))
    assert schedule(project).begins_s == (0, 4)


@pytest.fixture(scope="module")
def held():
    return [held_against(seed, within_s=1.5) for seed in range(40)]


def test_schedules_of_forty_random_evenings_are_nearly_the_shortest(held):
    """Against CP-SAT: the optimum, or the time that it proves none is shorter than."""
    assert all(one.gap >= 0.0 for one in held), "shorter than what is proved to be impossible"
    assert sum(one.gap for one in held) / len(held) <= MEAN
    assert max(one.gap for one in held) <= WORST


def test_schedules_of_random_evenings_keep_to_all_rules(held):
    for one in held:
        check(one.project, one.found)


@pytest.mark.parametrize("seed", range(100, 106))
def test_more_people_or_regulators_never_make_it_later(seed):
    """Every count of people and regulators up to four and three, each against one less of either."""
    body = evening(seed, most_drinks=4)
    lasts = {}
    for crew in range(1, 5):
        for regulators in range(1, 4):
            lasts[crew, regulators] = plan_of(body | {"crew": crew, "regulators": regulators}).lasts_s
            for fewer in ((crew - 1, regulators), (crew, regulators - 1)):
                assert lasts[crew, regulators] <= lasts.get(fewer, lasts[crew, regulators])


@pytest.mark.parametrize("seed", range(110, 114))
def test_more_bottles_never_make_it_later(seed):
    body = evening(seed, most_drinks=5)
    plan = plan_of(body)
    for kind in body["vessels"]:
        kind["count"] += 15
    assert plan_of(body).lasts_s == plan.lasts_s


def cold_evening(cold: list[dict[str, Any]]) -> dict[str, Any]:
    """The Saturday with these cold places, time enough, and drinks that a fridge gets as cold as they are charged."""
    body: dict[str, Any] = copy.deepcopy(example("createServicePlan"))
    del body["jugs"]
    for drink in body["drinks"]:
        drink["carbonation"] = drink.get("carbonation", {}) | {"temperature": quantity(4.5, "c"),
                                                               "target": quantity(5, "g/l")}  # fmt: skip
    return body | {"cold": cold, "begins_at": "2026-11-27T18:00:00+01:00"}


def quantity(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


FRIDGE = {"kind": "fridge", "holds": quantity(80, "l"), "temperature": quantity(2, "c")}
BATH = {"kind": "ice-water", "holds": quantity(60, "l")}


@pytest.mark.parametrize(
    "colds",
    [
        [[FRIDGE | {"temperature": quantity(t, "c")}] for t in (4, 3, 2, 1)],
        [[FRIDGE | {"cooling_power_w": power}] for power in (50, 100, 200, 400, 1600)],
        [[FRIDGE], *([BATH | {"holds": quantity(holds, "l")}, FRIDGE] for holds in (1, 4, 20, 40, 200))],
        [
            [{"kind": "ice-water", "holds": quantity(60, "l"), "ice": quantity(ice, "kg")}, FRIDGE]
            for ice in (20, 40, 90)
        ],
        [
            [{"kind": kind, "holds": quantity(60, "l")}, FRIDGE]
            for kind in ("walk-in", "ice-water", "stirred-ice-water")
        ],
    ],
    ids=["a colder fridge", "a stronger fridge", "a bath beside the fridge", "more ice", "a faster place"],
)
def test_colder_more_ice_and_more_cooling_power_never_make_it_later(colds):
    lasts = [plan_of(cold_evening(cold)).lasts_s for cold in colds]
    assert all(later <= sooner for sooner, later in pairwise(lasts)), lasts
    assert lasts[-1] < lasts[0] or "ice" in str(colds[0])


def test_the_same_evening_has_the_same_plan():
    project = project_of((one := plan_of(evening(3))).work, one.house.gear(one.standing))
    assert schedule(project) == schedule(project)


def test_random_projects_with_more_of_what_is_counted_never_take_longer():
    random = Random(5)  # noqa: S311 - the same cases each time
    for _ in range(15):
        activities = tuple(
            activity((random.randint(1, 9), {r: 1 for r in (0, 1) if random.random() < 0.6}),
                     after=[j for j in range(i) if random.random() < 0.15])
            for i in range(16)
        )  # fmt: skip
        ends = {}
        for many in ((a, b) for a in (1, 2, 3) for b in (1, 2, 3)):
            project = Project(activities, many, counted=(0, 1))
            found = schedule(project)
            check(project, found)
            ends[many] = found.ends_s
            assert all(ends[many] <= ends[less] for less in ends if less[0] <= many[0] and less[1] <= many[1])

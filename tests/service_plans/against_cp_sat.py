"""Random evenings against CP-SAT: `python -m tests.service_plans.against_cp_sat [EVENINGS]` prints the table."""

import sys
from dataclasses import dataclass
from time import process_time

from service.evening.planning import Evening
from service.evening.scheduling import Project, Schedule
from service.evening.timetable import project_of
from service.notes import SilentNotes
from tests.service_plans.cp_sat import Solved, proves_none_within, solve
from tests.service_plans.random_evenings import drinks_and_house, evening, loaded

SHORTER = (0.02, 0.05, 0.10, 0.12, 0.15)
"""Where the best is not found, none so much shorter than the schedule is proved to be, one after the other."""


@dataclass(frozen=True)
class Held:
    """A random evening, its schedule, and what CP-SAT finds and proves of it. cpu_s: of all that is tried for it"""

    seed: int
    drinks: int
    project: Project
    found: Schedule
    solved: Solved
    cpu_s: float

    @property
    def gap(self) -> float:
        """How much longer than the optimum, or than the bound that is proved, as a share."""
        return self.found.ends_s / self.solved.bound_s - 1.0


def held_against(seed: int, *, within_s: float) -> Held:
    """Hold a random evening against CP-SAT; within_s: of its deterministic time."""
    asked = loaded(evening(seed))
    drinks, house = drinks_and_house(asked)
    begun = process_time()
    plan = Evening(asked, drinks).planned(house, SilentNotes())
    cpu_s = process_time() - begun
    project = project_of(plan.work, house.gear(plan.standing))
    found = plan.schedule
    solved = solve(project, within_s=within_s, hint=found.begins_s, hint_end=found.ends_s)
    for shorter in () if solved.optimal else SHORTER:
        none_by_s = int(found.ends_s / (1.0 + shorter))
        if none_by_s >= solved.bound_s and proves_none_within(project, none_by_s, within_s=within_s):
            solved = solved._replace(bound_s=none_by_s + 1)
            break
    return Held(seed, len(drinks), project, found, solved, cpu_s)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    all_held = []
    print("evening drinks activities crew regulators  minutes  CP-SAT  bound    gap  CPU ms")
    for seed in range(count):
        one = held_against(seed, within_s=2.0)
        all_held.append(one)
        best = one.solved.found_s or one.found.ends_s
        print(
            f"{seed:7} {one.drinks:6} {len(one.project.activities):10} {one.project.capacities[0]:4} "
            f"{one.project.capacities[1]:10} {one.found.ends_s / 60:8.1f} {best / 60:7.1f} "
            f"{one.solved.bound_s / 60:6.1f} {100 * one.gap:5.2f} % {1000 * one.cpu_s:6.0f}",
            flush=True,
        )
    gaps = [one.gap for one in all_held]
    mean, most = sum(gaps) / len(gaps), max(gaps)
    proved = sum(one.solved.optimal for one in all_held)
    print(f"mean {100 * mean:.2f} %, most {100 * most:.2f} %; optimum proved of {proved} of {count}")
    if mean > 0.05 or most > 0.15 or min(gaps) < 0.0:
        sys.exit("beyond 5 % in the mean or 15 % of one, or under what is proved to be impossible")


if __name__ == "__main__":
    main()

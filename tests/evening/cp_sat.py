"""The same project as a constraint model, solved by CP-SAT of OR-Tools: the shortest schedule, or a bound proved."""

from typing import NamedTuple

from ortools.sat.python import cp_model

from service.evening.scheduling import Hold, Project


class Solved(NamedTuple):
    """The shortest schedule that was found, and the time that none is shorter than [s]."""

    found_s: int | None
    bound_s: int

    @property
    def optimal(self) -> bool:
        return self.found_s == self.bound_s


def held_at_least(project: Project, hold: Hold) -> int:
    """Return the longest chain from the begin of one activity to the end of another [s]; helps to prove a bound."""
    if hold.since is None or hold.until is None:
        return 0

    def chain(i: int) -> int:
        """Return the longest chain from the begin of the first to the end of this one; under 0 where there is none."""
        own = project.activities[i].lasts_s
        if i == hold.since:
            return own
        return max([chain(j) + own for j in project.activities[i].after], default=-horizon)

    horizon = sum(one.lasts_s for one in project.activities) + 1
    return max(0, chain(hold.until))


def solve(project: Project, *, within_s: float, hint: tuple[int, ...] | None = None, hint_end: int = 0) -> Solved:
    """Solve a project; within_s: of deterministic time, so that a busy machine finds the same."""
    model = cp_model.CpModel()
    horizon = sum(one.lasts_s for one in project.activities)
    end_of_all = model.new_int_var(0, hint_end or horizon, "end")
    begins = [model.new_int_var(0, horizon, f"begin{i}") for i in range(len(project.activities))]
    ends = [begin + one.lasts_s for begin, one in zip(begins, project.activities, strict=True)]
    demands: list[list[tuple[cp_model.IntervalVar, int]]] = [[] for _ in project.capacities]
    for i, activity in enumerate(project.activities):
        model.add(ends[i] <= end_of_all)
        for j in activity.after:
            model.add(begins[i] >= ends[j])
        offset = 0
        for k, one in enumerate(activity.stretches):
            for resource, amount in one.uses:
                interval = model.new_fixed_size_interval_var(begins[i] + offset, one.lasts_s, f"use{i}-{k}-{resource}")
                demands[resource].append((interval, amount))
            offset += one.lasts_s
    for k, hold in enumerate(project.holds):
        since = 0 if hold.since is None else begins[hold.since]
        until = end_of_all if hold.until is None else ends[hold.until]
        size = model.new_int_var(held_at_least(project, hold), horizon, f"held{k}")
        demands[hold.resource].append((model.new_interval_var(since, size, until, f"hold{k}"), hold.amount))
    for resource, found in enumerate(demands):
        if found:
            model.add_cumulative(*zip(*found, strict=True), project.capacities[resource])
    model.minimize(end_of_all)
    for i, begin in enumerate(hint or ()):
        model.add_hint(begins[i], begin)
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = within_s
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 7
    status = solver.solve(model)
    found = round(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None
    return Solved(found, round(solver.best_objective_bound))

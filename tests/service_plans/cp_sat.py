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


def solve(project: Project, *, within_s: float, hint: tuple[int, ...] = (), hint_end: int = 0) -> Solved:
    """Solve a project; within_s: of deterministic time, so that a busy machine finds the same.

    hint: a schedule that is known, which ends at hint_end; none that ends later is looked for
    """
    model, begins, end_of_all = _model(project, hint_end or _horizon(project))
    model.minimize(end_of_all)
    for i, begin in enumerate(hint):
        model.add_hint(begins[i], begin)
    solver, status = _solved(model, within_s)
    found = round(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None
    return Solved(found, round(solver.best_objective_bound))


def proves_none_within(project: Project, end_s: int, *, within_s: float) -> bool:
    """Prove that no schedule ends by a time, which may be easier than to find the best: a destructive bound."""
    _, status = _solved(_model(project, end_s)[0], within_s)
    return bool(status == cp_model.INFEASIBLE)


def _horizon(project: Project) -> int:
    return sum(one.lasts_s for one in project.activities)


def _solved(model: cp_model.CpModel, within_s: float) -> tuple[cp_model.CpSolver, cp_model.CpSolverStatus]:
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = within_s
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 7
    return solver, solver.solve(model)


def _model(project: Project, at_most_s: int) -> tuple[cp_model.CpModel, list[cp_model.IntVar], cp_model.IntVar]:
    """The project as constraints: the model, when each activity begins, and when all of it ends."""
    model, horizon = cp_model.CpModel(), _horizon(project)
    end_of_all = model.new_int_var(0, at_most_s, "end")
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
    return model, begins, end_of_all

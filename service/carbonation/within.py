"""The charges and shakes that fit a time, at the lowest dial that reaches the target with them."""

from collections.abc import Iterator
from dataclasses import replace

from service.carbonation.dials import raised
from service.carbonation.runs import Plan, level_g_per_l, runs
from service.limits.charging import LEAST_SHAKE_S, MOST_ROCK_S, MOST_ROUNDS, MOST_SHAKE_S, REACHED_SHARE
from service.notes import Notes
from service.safety import Judgement
from service.science.units import Quantity


def fitted(plan: Plan, judgement: Judgement, notes: Notes, *, free: bool) -> Plan:
    """Return the plan with the charges and shakes that fit its time, told as assumptions.

    The fewest charges that reach the target at the set-point; where none do, those that come nearest, at a higher dial
    where the request leaves it open. Where not even one fits, one of the shortest shake, which `fits` denies.

    judgement: of the dial; free: the dial may be raised
    """
    tried = list(_tried(plan)) or [replace(plan, count=1, shake_s=LEAST_SHAKE_S)]
    levels = [level_g_per_l(runs(one).typical.charges[-1]) for one in tried]
    reached = [one for one, level in zip(tried, levels, strict=True) if level >= REACHED_SHARE * plan.target_g_per_l]
    best = reached[0] if reached else max(zip(levels, tried, strict=True), key=lambda pair: pair[0])[1]
    if not reached and free:
        best = raised(best, judgement)
    source = "what fits the time and comes nearest to the target"
    notes.assume("charges", float(best.count), "estimate", source, at="/within")
    notes.assume("shake", Quantity("duration", best.shake_s), "estimate", source, at="/within")
    return best


def _tried(plan: Plan) -> Iterator[Plan]:
    """Yield plans of one charge and more, each with the longest shake that fits the time."""
    within_s, most_s = plan.within_s or 0.0, MOST_ROCK_S if plan.setting.vessel.is_keg else MOST_SHAKE_S
    for count in range(1, MOST_ROUNDS + 1):
        shake_s = min(most_s, within_s / count - plan.rest_s)
        if shake_s >= LEAST_SHAKE_S:
            yield replace(plan, count=count, shake_s=shake_s)

"""The dial that a vessel is charged at: as stated, the set-point of the target, or what fits a time."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service import safety
from service.carbonation.checking import stop_g_per_l
from service.carbonation.runs import Plan, level_g_per_l, runs
from service.errors import Nearest, Offer, Refusals
from service.limits.charging import LEAST_SHAKE_S, MOST_ROCK_S, MOST_ROUNDS, MOST_SHAKE_S, REACHED_SHARE
from service.limits.safety import GAUGE_ERROR_BAR
from service.notes import Notes
from service.safety import Judgement
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.setting import Setting, check_target, set_point_judged, workable_target


@dataclass(frozen=True)
class Dial:
    """A dial with its judgement. free: the request left it open, so that a plan may raise it"""

    judgement: Judgement
    free: bool


def dial_of(
    setting: Setting,
    temperature_c: float,
    target_g_per_l: float,
    stated_bar_gauge: float | None,
    start_g_per_l: float | None,
    notes: Notes,
    refusals: Refusals,
) -> Dial:
    """Return the dial of a charge, judged with what the drink holds before it.

    start_g_per_l: as stated; all that its components bring, at the worst, where it is not
    """
    closed = setting.closed(temperature_c)
    if setting.held == "timed":
        with refusals.gather():
            safety.check_stop(target_g_per_l, stop_g_per_l(setting, temperature_c))
    if stated_bar_gauge is None:
        judgement = set_point_judged(setting, closed, target_g_per_l)
        with refusals.gather():
            check_target(setting, judgement, target_g_per_l, notes)
    else:
        judgement = _stated(setting, Judgement(closed, stated_bar_gauge), target_g_per_l, notes, refusals)
    judgement = _check_start(setting, judgement, start_g_per_l, notes, refusals)
    with refusals.gather():
        safety.check_cold_dial(setting.drink, temperature_c, judgement.dial_bar_gauge)
    return Dial(judgement, free=stated_bar_gauge is None)


def _stated(
    setting: Setting, judgement: Judgement, target_g_per_l: float, notes: Notes, refusals: Refusals
) -> Judgement:
    """Return the dial judged; one that is no pressure is refused, and that of the target judged in its place."""
    if judgement.dial_bar_gauge > 0.0:
        with refusals.gather():
            safety.check(judgement, notes)
        return judgement
    usual = set_point_judged(setting, judgement.closed, target_g_per_l)
    dial = rounded_down(min(usual.dial_bar_gauge, usual.never_over_bar_gauge), 0.01)
    at = "/gauge_pressure"
    refusals.keep(safety.no_pressure(safety.lower_dial(dial, at), usual.never_over_bar_gauge, at))
    return replace(judgement, dial_bar_gauge=dial)


def _check_start(
    setting: Setting, judgement: Judgement, stated_g_per_l: float | None, notes: Notes, refusals: Refusals
) -> Judgement:
    """Return the dial judged anew with what the drink already holds; all of what its components bring, at the worst."""
    start = setting.brought_g_per_l if stated_g_per_l is None else stated_g_per_l
    if start == 0.0 or judgement.never_over_bar_gauge <= 0.0:
        return judgement
    dial = min(judgement.dial_bar_gauge, judgement.never_over_bar_gauge)
    if dial < 0.0:  # refused already; the target that is offered instead
        liquid = setting.liquid_at(judgement.closed.temperature_c)
        dial = setting.set_point_bar_gauge(liquid, workable_target(setting, judgement))
    again = Judgement(replace(judgement.closed, start_co2_g_per_l=start), dial)
    if again.reached_bar_gauge > judgement.reached_bar_gauge or not again.passes:
        most = Quantity("co2", rounded_down(_most_start(again), 0.1), "down")
        less = Offer("less-before", "Start from {level}.", (Nearest("/start_co2", most),), (("level", most),))
        offers = [less] if stated_g_per_l is not None and most.value >= 0.0 else []
        with refusals.gather():
            safety.check(again, notes, at="/start_co2", offers=offers)
    return again if judgement.passes else judgement


def _most_start(judgement: Judgement) -> float:
    """Return the highest level before charging, up to the one judged, that passes under a dial; 0 if none does."""

    def excess(start_co2_g_per_l: float) -> float:
        return safety.excess_bar(
            replace(judgement.closed, start_co2_g_per_l=start_co2_g_per_l), judgement.dial_bar_gauge
        )

    return safety.highest(excess, low=0.0, high=judgement.closed.start_co2_g_per_l)


def raised(plan: Plan, judgement: Judgement) -> Plan:
    """Return the plan with the lowest dial, from its set-point up, at which its charges typically reach the target.

    Where none that passes does, the highest that leaves room for the error of the gauge.
    judgement: of the set-point
    """
    most = max(plan.dial_bar_gauge, rounded_down(judgement.never_over_bar_gauge - GAUGE_ERROR_BAR, 0.01))

    def short(dial_bar_gauge: float) -> float:
        made = runs(replace(plan, dial_bar_gauge=dial_bar_gauge))
        return level_g_per_l(made.typical.charges[-1]) - plan.target_g_per_l

    if short(most) <= 0.0 or most <= plan.dial_bar_gauge:
        return replace(plan, dial_bar_gauge=most)
    dial = safety.highest(short, low=plan.dial_bar_gauge, high=most)
    return replace(plan, dial_bar_gauge=max(plan.dial_bar_gauge, dial))


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

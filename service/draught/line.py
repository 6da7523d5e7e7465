"""A line from a keg to its tap: composes what the gas, the line and the keg come to."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from functools import cache, partial

from service.draught.answer import Breakout, ComesOut, DayLevel, DraughtLine, Flow, GasMix, Losses
from service.draught.asked import DraughtAsked
from service.draught.cautions import caution
from service.draught.keg import Standing, check_dial, dial_of, judged, pushing_of
from service.draught.lifting import check_lift
from service.draught.pushing import Pushing
from service.draught.run import Run, line_of, spreads_of
from service.draught.yields import Yield, cost_away, yield_of
from service.drink import Drink, Spec
from service.errors import Fact, Fault, Refusals, Refused, within_validity
from service.limits.draught import POUR_ML, POUR_ML_PER_S, TAP_BAR
from service.money import Money
from service.notes import Notes
from service.science.band import Band
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.units import Quantity
from service.science.validity import OutsideValidity


def draught_line(drink: Drink, asked: DraughtAsked, notes: Notes, *, spec: Spec | None) -> DraughtLine:
    """Return what a dial does to a line and its keg.

    spec: of the drink, which its cost is counted by; None where only its analysis is known
    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    pushing = pushing_of(drink, asked, notes, refusals)
    runs: list[Run] = []
    with refusals.gather():
        runs.append(_run(drink, asked, pushing.temperature_c, notes))
    dial = dial_of(pushing, asked, refusals)
    with within_validity("/dial"):
        judgement = judged(pushing, dial.typical)
        bears_bar = judgement.never_over_bar_gauge
    with refusals.gather(), within_validity("/dial"):
        check_dial(judgement, pushing, asked, notes)
    for run in runs if dial.typical > 0.0 else []:
        with refusals.gather():
            check_lift(run, pushing, dial.typical, bears_bar, named=asked.keg.vessel is not None)
    keeps = [band for run in runs for band in _keeps(pushing, run, refusals)]
    refusals.raise_any()
    (run,) = runs
    gives = _yield(asked, pushing, run, notes)
    cost = cost_away(spec, asked, gives.away_ml, notes)
    with within_validity("/dial"):
        answer = _answered(asked, pushing, run, keeps, dial, bears_bar, gives, cost)
    caution(answer, asked, pushing, run, drink, notes)
    return answer


def _run(drink: Drink, asked: DraughtAsked, keg_c: float, notes: Notes) -> Run:
    """Return the line with the flow that is asked for.

    raises: Refused, SeveralRefused
    """
    pour_ml, lasts_s = _pour(asked, notes)
    tap_bar = asked.tap.pressure_bar
    if tap_bar is None:
        tap_bar = TAP_BAR
        notes.assume("left at the tap", Quantity("pressure", tap_bar), "common-practice", at="/tap/pressure")
    line, temperatures_c = line_of(drink, asked.segments, keg_c, notes)
    spreads = spreads_of(drink, temperatures_c)
    return Run(line, temperatures_c, spreads, pour_ml, lasts_s, asked.fittings_bar, tap_bar)


def _pour(asked: DraughtAsked, notes: Notes) -> tuple[float, float]:
    """Return the glass that is asked for [ml], and how long it takes [s]."""
    pour_ml, lasts_s = asked.pour.volume_ml, asked.pour.lasts_s
    if pour_ml is None:
        pour_ml = POUR_ML
        notes.assume("glass", Quantity("volume", pour_ml), "common-practice", at="/pour/volume")
    if lasts_s is None:
        lasts_s, source = pour_ml / POUR_ML_PER_S, "60 ml in a second"
        notes.assume("time of a pour", Quantity("duration", lasts_s), "common-practice", source, at="/pour/lasts")
    return pour_ml, lasts_s


def _yield(asked: DraughtAsked, pushing: Pushing, run: Run, notes: Notes) -> Yield:
    """Return what the keg gives."""
    setting = pushing.setting
    return yield_of(
        asked, liquid_ml=1000.0 * setting.liquid_l, capacity_ml=setting.vessel.capacity_ml,
        line_ml=1e6 * run.line.volume_m3, pour_ml=run.pour_ml, notes=notes,
    )  # fmt: skip


def _answered(
    asked: DraughtAsked,
    pushing: Pushing,
    run: Run,
    keeps: Sequence[Band],
    dial: Band,
    never_over_bar: float,
    gives: Yield,
    cost: Money | None,
) -> DraughtLine:
    """Return what is answered.

    raises: OutsideValidity
    """
    dial_bar, line = dial.typical, run.line
    balanced = run.band(partial(run.balanced_m, dial_bar=dial_bar))
    fits = balanced.typical > abs(line.tubes[-1].rise_m)
    standing = Standing(pushing, dial_bar, asked.gas_off_s, None if gives.days is None else gives.days.typical)
    return DraughtLine(
        gauge_pressure_bar=dial,
        flow=_flow(run, dial_bar),
        losses=Losses(run.band(run.friction_bar), line.rise_bar, run.fittings_bar),
        at_tap_bar=run.band(partial(run.at_tap_bar, dial_bar=dial_bar)),
        balanced_length_m=Band(max(0.0, balanced.low), balanced.typical, balanced.high) if fits else None,
        breakout=tuple(_breakout(run, number, keep, dial_bar) for number, keep in enumerate(keeps)),
        gas_mix=_gas_mix(asked, pushing, run, dial),
        line_volume_ml=1e6 * line.volume_m3,
        glasses_per_keg=gives.glasses,
        lost=gives.lost,
        days_on_tap=gives.days,
        cost_lost=cost,
        co2_g_per_l=pushing.band(lambda liquid: pushing.level_g_per_l(liquid, dial_bar)),
        by_day=tuple(DayLevel(day, level) for day, level in enumerate(standing.by_day(), start=1)),
        never_over_bar=never_over_bar,
        rest_gauge_bar=pushing.saturation_bar_gauge(pushing.liquid) if pushing.co2_share == 1.0 else None,
        pour_ml=run.pour_ml,
        target_g_per_l=pushing.target_g_per_l,
        keg_c=pushing.temperature_c,
        temperatures_c=run.temperatures_c,
    )


def _flow(run: Run, dial_bar: float) -> Flow:
    """Return what the dial pushes; what is uncertain about the line is combined as it is in the time of a pour."""
    pushed = cache(partial(run.pushed_m3_per_s, dial_bar=dial_bar))
    return Flow(
        pour_s=run.band(lambda line: 1e-6 * run.pour_ml / pushed(line)),
        litres_per_min=run.band(lambda line: 60e3 * pushed(line)),
        reynolds=run.band(lambda line: line.reynolds(pushed(line))),
    )


def _keeps(pushing: Pushing, run: Run, refusals: Refusals) -> Iterator[Band]:
    """Yield the pressure that keeps CO2 in, in each stretch [bar gauge]."""
    for number, here_c in enumerate(run.temperatures_c):
        with refusals.gather(), within_validity(f"/segments/{number}/temperature", _too_warm):
            yield pushing.band(pushing.saturation_bar_gauge, pushing.setting.liquid_at(here_c))


def _too_warm(outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal of a stretch in which no pressure of the gas equations keeps CO2 in.

    raises: OutsideValidity, the one given, where it is not of a pressure
    """
    if outside.quantity != "pressure":
        raise outside
    limit = Quantity("pressure", GAS_PRESSURE_LIMIT_BAR_ABS)
    text = (
        "Cool this stretch, or ask for less CO2: it takes over {limit} absolute to keep it in there, where the gas "
        "equations end."
    )
    fault = Fault(at, "beyond-equations", text, (("limit", limit),))
    return Refused("outside-validity", [fault], facts=[Fact("equations_to", limit)])


def _breakout(run: Run, number: int, keeps: Band, dial_bar: float) -> Breakout:
    """Return the pressure at the end of a stretch against the one that keeps CO2 in. number: of the stretch, from 0"""
    left = partial(run.left_bar, number=number, dial_bar=dial_bar)
    here_bar = left(run.line)
    margin = run.band(lambda line: left(line) - keeps.typical, (here_bar - keeps.high, here_bar - keeps.low))
    shut_bar = dial_bar - sum(tube.rise_bar for tube in run.line.tubes[: number + 1])
    comes_out: ComesOut = "may"
    if margin.low >= 0.0:
        comes_out = "no"
    elif margin.high < 0.0 and (number < len(run.line.tubes) - 1 or shut_bar < keeps.low):
        comes_out = "yes"
    return Breakout(number, margin, comes_out)


def _gas_mix(asked: DraughtAsked, pushing: Pushing, run: Run, dial: Band) -> GasMix | None:
    """Return the mix that holds the target at the dial that is stated or needed, and the level of the stated gas."""
    percent: Band | None = None
    with suppress(OutsideValidity):  # no regulator goes so high, or so low, as the line needs
        share = pushing.share_band(dial if asked.dial_bar is not None else run.band(run.needed_bar))
        percent = share.map(lambda one: 100.0 * one) if share.typical <= 1.0 else None
    level = None if asked.gas is None else pushing.band(lambda liquid: pushing.level_g_per_l(liquid, dial.typical))
    return None if percent is None and level is None else GasMix(percent, level)

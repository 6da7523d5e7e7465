"""Warnings of a line: a pour that is too slow or too fast, CO2 that comes out on the way, a level that moves."""

from itertools import accumulate

from service.draught.answer import DraughtLine
from service.draught.asked import DraughtAsked
from service.draught.pushing import Pushing
from service.draught.run import Run
from service.drink import Drink
from service.limits.draught import LINE_BAR, ON_TAP_DAYS, STRONG_ABV
from service.notes import Notes, Value
from service.science.flow import LAMINAR_TO, TURBULENT_FROM
from service.science.units import Quantity
from service.science.validity import OutsideValidity


def caution(found: DraughtLine, asked: DraughtAsked, pushing: Pushing, run: Run, drink: Drink, notes: Notes) -> None:
    """Warn of what the line and its dial come to."""
    _pour(found, asked, run, notes)
    _steadiness(found, notes)
    _breakout(found, pushing, run, notes)
    _level(found, asked, pushing, notes)
    _standing(found, run, notes)
    vinyl = tuple(f"/segments/{i}/material" for i, one in enumerate(asked.segments) if one.material == "vinyl")
    if drink.abv >= STRONG_ABV and vinyl:
        text = "Use another tube here: vinyl takes up what a strong drink tastes of and gives it to the next."
        notes.caution("vinyl-takes-flavour", "info", text, at=vinyl)
    if found.glasses_per_keg.typical < 1.0:
        text = "Take a larger keg or a shorter line: the line and its cleaning take all that this keg holds."
        notes.caution("no-glass", "warning", text, at=("/keg", "/cleaning"))
    if asked.gas_off_s > 0.0:
        text = "Pour nothing while the gas is shut at night: the keg then keeps its CO2, unless it leaks."
        notes.caution("gas-off", "info", text, at="/gas_off")


def _pour(found: DraughtLine, asked: DraughtAsked, run: Run, notes: Notes) -> None:
    """Warn of a pour that surely is not the one asked for, and tell what makes it so."""
    takes, lasts_s = found.flow.pour_s, run.lasts_s
    if takes.low <= lasts_s <= takes.high:
        return
    at = "/segments" if asked.dial_bar is None else "/dial"
    pour_s, balanced = float(f"{takes.typical:.2g}"), found.balanced_length_m
    if takes.typical < lasts_s:
        text = (
            "Take a longer line, or a narrower one at its end: a glass takes {takes} s and not {asked}, and such a "
            "rush foams."
        )
        notes.caution("pours-fast", "warning", text, at=at, takes=pour_s, asked=float(lasts_s))
    else:
        needed_bar = run.needed_bar(run.line)
        text = _SLOW[_bearing(found, asked, needed_bar)]
        needed = Quantity("pressure", needed_bar, "up")
        notes.caution("pours-slowly", "warning", text, at=at, takes=pour_s, asked=float(lasts_s), needed=needed)
        _tell_mix(found, asked, needed_bar, notes)
    if balanced is not None:
        text = (
            "Make the last stretch {length} long, by the watch and a little at a time: then this dial pours as asked."
        )
        last = len(asked.segments) - 1
        length = Quantity("length", balanced.typical)
        notes.caution("balance-line", "info", text, at=f"/segments/{last}/length", length=length)


_SLOW = {
    "keg-bears": (
        "Take a wider or a shorter line: a glass takes {takes} s and not {asked}, for which it would need {needed}."
    ),
    "over-keg": (
        "Take a wider or a shorter line: a glass takes {takes} s and not {asked}, for which it would need {needed}, "
        "more than the keg bears."
    ),
    "no-keg-named": (
        "Take a wider or a shorter line: a glass takes {takes} s and not {asked}, for which it would need {needed}, "
        "more than a usual beer keg bears."
    ),
}
_MIX = {
    "keg-bears": (
        "Push with {needed} of a mix that has about {percent} % of CO2, the rest nitrogen: then the level holds."
    ),
    "no-keg-named": (
        "Where the stamp of the keg bears it, push with {needed} of a mix that has about {percent} % of CO2, the rest "
        "nitrogen: then the level holds."
    ),
}


def _bearing(found: DraughtLine, asked: DraughtAsked, needed_bar: float) -> str:
    """Return by its code whether the keg bears the dial that the line needs."""
    if needed_bar <= found.never_over_bar:
        return "keg-bears"
    return "over-keg" if asked.keg.vessel is not None else "no-keg-named"


def _tell_mix(found: DraughtLine, asked: DraughtAsked, needed_bar: float, notes: Notes) -> None:
    """Tell the mix for the dial that the line needs, where no gas and no dial is stated and the keg may bear it."""
    mix, bearing = found.gas_mix, _bearing(found, asked, needed_bar)
    if asked.gas is not None or asked.dial_bar is not None or mix is None or mix.co2_percent is None:
        return
    if bearing == "over-keg":
        return
    text = _MIX[bearing]
    percent, needed = float(round(mix.co2_percent.typical)), Quantity("pressure", needed_bar, "up")
    notes.caution("mix-holds", "info", text, at="/gas", needed=needed, percent=percent)


def _steadiness(found: DraughtLine, notes: Notes) -> None:
    """Tell where the flow may be smooth or turbulent."""
    reynolds = found.flow.reynolds.typical
    if LAMINAR_TO < reynolds < TURBULENT_FROM:
        text = "Time a glass with a jug: the flow is between smooth and turbulent, and may go from one to the other."
        notes.caution("unsteady-flow", "info", text, at="/pour")


def _standing(found: DraughtLine, run: Run, notes: Notes) -> None:
    """Warn of a line under more pressure than usual ones are made for, and of a keg that is on tap for long."""
    falls_bar = min(accumulate((tube.rise_bar for tube in run.line.tubes), initial=0.0))
    most_bar = found.gauge_pressure_bar.typical - falls_bar
    if most_bar > LINE_BAR:
        text = "Look up what line, joints and tap are rated for before the gas goes on: shut, they stand up to {most}."
        notes.caution("line-rating", "warning", text, at="/segments", most=Quantity("pressure", most_bar, "up"))
    if found.days_on_tap is not None and found.days_on_tap.typical > ON_TAP_DAYS:
        text = (
            "Take a smaller keg: at this rate it is on tap for {days} days. Taste it each day, and keep to its discard "
            "date."
        )
        days = float(round(found.days_on_tap.typical))
        notes.caution("long-on-tap", "warning", text, at=("/serves_per_day", "/keg"), days=days)


def _breakout(found: DraughtLine, pushing: Pushing, run: Run, notes: Notes) -> None:
    """Tell the first place where CO2 comes out of the drink."""
    first = next((one for one in found.breakout if one.comes_out != "no"), None)
    if first is None:
        return
    last = len(run.temperatures_c) - 1
    here_c, at = run.temperatures_c[first.segment], f"/segments/{first.segment}"
    keeps_bar = pushing.saturation_bar_gauge(pushing.setting.liquid_at(here_c))
    number, temperature = float(first.segment + 1), Quantity("temperature", here_c)
    keeps, left = Quantity("pressure", keeps_bar), Quantity("pressure", keeps_bar + first.margin_bar.typical)
    if first.comes_out == "yes" and first.segment == last:
        text = (
            "CO2 comes out of what stands in the last stretch: with the tap shut it has {left}, and at {temperature} "
            "it takes {keeps} to keep it in. Cool it, or where the keg bears it, push harder with a mix of gases."
        )
        shut = Quantity("pressure", found.gauge_pressure_bar.typical - run.line.rise_bar)
        notes.caution("breaks-out-standing", "warning", text, at=at, left=shut, keeps=keeps, temperature=temperature)
    elif first.comes_out == "yes":
        text = (
            "CO2 comes out first in stretch {number}: its end has {left}, and at {temperature} it takes {keeps} to "
            "keep it in. Cool it, rise less, take a wider line up to there, or where the keg bears it, push harder "
            "with a mix of gases."
        )
        notes.caution(
            "breaks-out", "warning", text, at=at, number=number, left=left, keeps=keeps, temperature=temperature
        )
    elif first.segment < last:
        text = (
            "CO2 may come out in stretch {number}: its end has about {left}, and at {temperature} about {keeps} keep "
            "it in."
        )
        notes.caution(
            "may-break-out", "warning", text, at=at, number=number, left=left, keeps=keeps, temperature=temperature
        )
    else:
        text = (
            "Only in the last stretch, and only while it pours, the pressure falls below the {keeps} that keep CO2 in "
            "at {temperature}: keep that stretch cold and clean."
        )
        notes.caution("breaks-out-at-tap", "info", text, at=at, keeps=keeps, temperature=temperature)


def _level(found: DraughtLine, asked: DraughtAsked, pushing: Pushing, notes: Notes) -> None:
    """Warn of a dial and gas that surely do not hold the target, and tell what does."""
    comes_to, target_g_per_l, last = found.co2_g_per_l, pushing.target_g_per_l, found.by_day[-1]
    if asked.dial_bar is None or comes_to.low <= target_g_per_l <= comes_to.high:
        return
    told: dict[str, Value] = {
        "level": Quantity("co2", comes_to.typical), "target": Quantity("co2", target_g_per_l),
        "days": float(last.day), "then": Quantity("co2", last.co2_g_per_l.typical),
    }  # fmt: skip
    holds_bar = _holding_bar(pushing)
    if holds_bar is not None and 0.0 < holds_bar <= found.never_over_bar:
        told["holds"] = Quantity("pressure", holds_bar)
    if found.gas_mix is not None and found.gas_mix.co2_percent is not None:
        told["percent"] = float(round(found.gas_mix.co2_percent.typical))
    way = " or ".join(name for name in ("holds", "percent") if name in told) or "none"
    if comes_to.typical > target_g_per_l:
        notes.caution("over-carbonates", "warning", _OVER_CARBONATES[way], at="/dial", **told)
    else:
        notes.caution("goes-flat", "warning", _GOES_FLAT[way], at="/dial", **told)


def _holding_bar(pushing: Pushing) -> float | None:
    """Return the dial at which this gas holds the target [bar gauge]; None where no gauge shows it."""
    if pushing.co2_share == 0.0:
        return None
    try:
        return pushing.holding_bar_gauge(pushing.liquid)
    except OutsideValidity:
        return None


_OVER_CARBONATES = {
    "holds or percent": (
        "Set {holds}, or take gas that has about {percent} % of CO2 at this dial: as it is, the drink goes from "
        "{target} to {level}, and foams. After {days} days it holds {then}."
    ),
    "percent": (
        "Take gas that has about {percent} % of CO2 at this dial: as it is, the drink goes from {target} to "
        "{level}, and foams. After {days} days it holds {then}."
    ),
}
"""There always is a gas that holds less at a dial."""
_GOES_FLAT = {
    "holds or percent": (
        "Set {holds}, or take gas that has about {percent} % of CO2 at this dial: as it is, the drink goes flat, "
        "from {target} to {level}. After {days} days it holds {then}."
    ),
    "holds": (
        "Set {holds}: under this dial and gas the drink goes flat, from {target} to {level}. After {days} days it "
        "holds {then}."
    ),
    "percent": (
        "Take gas that has about {percent} % of CO2 at this dial: as it is, the drink goes flat, from {target} to "
        "{level}. After {days} days it holds {then}."
    ),
    "none": (
        "Keep the keg colder, or ask for less: under this dial and gas the drink goes flat, from {target} to "
        "{level}. After {days} days it holds {then}."
    ),
}
"""By what holds the target: another dial of this gas that the keg bears, another gas at this dial."""

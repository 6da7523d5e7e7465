"""Warnings of a line: a pour that is too slow or too fast, CO2 that comes out on the way, a level that moves."""

from service.draught.answer import DraughtLine
from service.draught.asked import DraughtAsked
from service.draught.pushing import Pushing
from service.draught.run import Run
from service.drink import Drink
from service.limits.draught import STRONG_ABV
from service.notes import Notes
from service.science.flow import LAMINAR_TO, TURBULENT_FROM
from service.science.units import Quantity


def caution(
    found: DraughtLine, asked: DraughtAsked, pushing: Pushing, run: Run, drink: Drink, lasts_s: float, notes: Notes
) -> None:
    """Warn of what the line and its dial come to. lasts_s: a pour as it is asked for"""
    _pour(found, asked, run, lasts_s, notes)
    _steadiness(found, notes)
    _breakout(found, pushing, run, notes)
    _level(found, asked, pushing, notes)
    vinyl = tuple(f"/segments/{i}/material" for i, one in enumerate(asked.segments) if one.material == "vinyl")
    if drink.abv >= STRONG_ABV and vinyl:
        text = "Vinyl takes up what a strong drink tastes of and gives it to the next: line this run with another tube."
        notes.caution("vinyl-takes-flavour", "info", text, at=vinyl)
    if found.glasses_per_keg.typical < 1.0:
        text = "This keg gives no glass: what its line and its cleaning take is all that it holds."
        notes.caution("no-glass", "warning", text, at=("/keg", "/cleaning"))
    if asked.gas_off_s > 0.0:
        text = "Shut at night, the keg keeps its CO2 as long as nothing is poured from it and nothing leaks."
        notes.caution("gas-off", "info", text, at="/gas_off")


def _pour(found: DraughtLine, asked: DraughtAsked, run: Run, lasts_s: float, notes: Notes) -> None:
    """Warn of a pour that surely is not the one asked for, and tell what makes it so."""
    takes = found.flow.pour_s
    if takes.low <= lasts_s <= takes.high:
        return
    at = "/segments" if asked.dial_bar is None else "/dial"
    pour_s, balanced = float(f"{takes.typical:.2g}"), found.balanced_length_m
    if takes.typical < lasts_s:
        text = "A glass takes {takes} s and not {asked}, and such a rush foams: the line is too short for this dial."
        notes.caution("pours-fast", "warning", text, at=at, takes=pour_s, asked=float(lasts_s))
    else:
        needed_bar = run.needed_bar(run.line)
        text = "A glass takes {takes} s and not {asked}: for that the line needs {needed}."
        needed = Quantity("pressure", needed_bar, "up")
        notes.caution("pours-slowly", "warning", text, at=at, takes=pour_s, asked=float(lasts_s), needed=needed)
        _tell_mix(found, asked, needed_bar, notes)
    if balanced is not None:
        text, last = "Make the last stretch {length} long, and this dial pours as asked.", len(asked.segments) - 1
        length = Quantity("length", balanced.typical)
        notes.caution("balance-line", "info", text, at=f"/segments/{last}/length", length=length)


def _tell_mix(found: DraughtLine, asked: DraughtAsked, needed_bar: float, notes: Notes) -> None:
    """Tell the mix that holds the level at the dial that the line needs, where none is stated."""
    mix = found.gas_mix
    if asked.gas is not None or asked.dial_bar is not None or mix is None or mix.co2_percent is None:
        return
    text = "Push with {needed} of a mix that has about {percent} % of CO2, the rest nitrogen, and the level holds."
    percent, needed = float(round(mix.co2_percent.typical)), Quantity("pressure", needed_bar, "up")
    notes.caution("mix-holds", "info", text, at="/gas", needed=needed, percent=percent)


def _steadiness(found: DraughtLine, notes: Notes) -> None:
    """Tell where the flow may be smooth or turbulent."""
    reynolds = found.flow.reynolds.typical
    if LAMINAR_TO < reynolds < TURBULENT_FROM:
        text = "The flow is between smooth and turbulent and may go from one to the other: time a glass with a jug."
        notes.caution("unsteady-flow", "info", text, at="/pour")


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
            "it takes {keeps} to keep it in. Cool it, or push harder with a mix of gases."
        )
        shut = Quantity("pressure", found.gauge_pressure_bar.typical - run.line.rise_bar)
        notes.caution("breaks-out-standing", "warning", text, at=at, left=shut, keeps=keeps, temperature=temperature)
    elif first.comes_out == "yes":
        text = (
            "CO2 comes out first in stretch {number}: its end has {left}, and at {temperature} it takes {keeps} to "
            "keep it in. Cool it, rise less, take a wider line up to there, or push harder with a mix of gases."
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
    """Warn of a dial and gas that surely do not hold the target."""
    level_g_per_l, target_g_per_l, last = found.co2_g_per_l, pushing.target_g_per_l, found.by_day[-1]
    if asked.dial_bar is None or level_g_per_l.low <= target_g_per_l <= level_g_per_l.high:
        return
    level, target = Quantity("co2", level_g_per_l.typical), Quantity("co2", target_g_per_l)
    days, then = float(last.day), Quantity("co2", last.co2_g_per_l.typical)
    if level_g_per_l.typical > target_g_per_l:
        text = (
            "Left under this dial and gas the drink goes from {target} to {level}, and foams: after {days} days it "
            "holds {then}."
        )
        notes.caution("over-carbonates", "warning", text, at="/dial", level=level, target=target, days=days, then=then)
    else:
        text = "Left under this dial and gas the drink goes flat, from {target} to {level}: after {days} days {then}."
        notes.caution("goes-flat", "warning", text, at="/dial", level=level, target=target, days=days, then=then)

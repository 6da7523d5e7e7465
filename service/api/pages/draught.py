"""A line on paper: its dial, its stretches, a glass to time, what to change when it foams, what a keg gives."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.api.pages.paper import Paper, Shown
from service.api.pages.words import _
from service.draught import Breakout, DraughtGiven, DraughtLine, Segment
from service.errors import Term
from service.prep_sheet import foam_checks
from service.science.band import Band
from service.science.flow import MATERIALS
from service.science.units import Quantity, from_base


@dataclass(frozen=True)
class Stretch:
    """A stretch of line, in the order from the keg to the tap."""

    name: str
    run: str
    warmest: Shown
    comes_out: str


@dataclass(frozen=True)
class Check:
    """Something to look at when it foams, the figure that shows it, and what to change where it is not so."""

    name: str
    figure: Shown
    change: str


@dataclass(frozen=True)
class Draught:
    """A line as paper has it. takes: the seconds of a glass, from and to; keg: what one gives and loses"""

    dial: Shown
    never_over: Shown
    glass: Shown
    takes: tuple[Shown, Shown]
    stretches: tuple[Stretch, ...]
    checks: tuple[Check, ...]
    keg: tuple[tuple[str, str], ...]


def draught_of(line: DraughtLine, given: DraughtGiven, paper: Paper) -> Draught:
    """Return a line as paper has it."""
    stretches = zip(given.segments, line.temperatures_c, line.breakout, strict=True)
    return Draught(
        dial=paper.figure(Quantity("pressure", line.gauge_pressure_bar.typical, "down")),
        never_over=paper.figure(Quantity("pressure", line.never_over_bar, "down")),
        glass=paper.figure(Quantity("volume", line.pour_ml)),
        takes=(_seconds(line.flow.pour_s.low, paper), _seconds(line.flow.pour_s.high, paper)),
        stretches=tuple(_stretch(*each, last=i == len(given.segments), paper=paper)
                        for i, each in enumerate(stretches, start=1)),
        checks=tuple(_checks(line, given, paper)),
        keg=tuple(_keg(line, paper)),
    )  # fmt: skip


def _stretch(segment: Segment, temperature_c: float, breakout: Breakout, *, last: bool, paper: Paper) -> Stretch:
    diameter_m = segment.inner_diameter_m or MATERIALS[segment.material].usual_inner_diameter_m
    at_the_tap = last and breakout.comes_out == "may"
    length, rise = Quantity("length", segment.length_m), Quantity("length", abs(segment.rise_m))
    said = _("{length}, level") if not segment.rise_m else _("{length}, up {rise}")
    if segment.rise_m < 0.0:
        said = _("{length}, down {rise}")
    return Stretch(
        name=paper.say(
            "{material}, {diameter} inside", material=Term(segment.material), diameter=_bore(diameter_m, paper)
        ),
        run=paper.say(said, length=length, rise=rise),
        warmest=paper.figure(Quantity("temperature", temperature_c, "up")),
        comes_out=paper.say(_AT_THE_TAP if at_the_tap else _COMES_OUT[breakout.comes_out]),
    )


_COMES_OUT = {"no": _("CO2 stays in"), "may": _("CO2 may come out"), "yes": _("CO2 comes out")}
_AT_THE_TAP = _("CO2 comes out only while it pours")


def _bore(diameter_m: float, paper: Paper) -> Shown:
    """Return an inner diameter as lines are sold: in millimetres or inches."""
    unit, decimals = ("in", 3) if paper.answer.system == "us" else ("mm", 1)
    return Shown(paper.speech.fixed(from_base("length", diameter_m, unit), decimals), unit)


def _seconds(seconds: float, paper: Paper) -> Shown:
    return Shown(paper.speech.short(float(f"{seconds:.2g}")), "s")


def _checks(line: DraughtLine, given: DraughtGiven, paper: Paper) -> Iterator[Check]:
    """Yield what to look at when it foams, the likeliest first."""
    for value in foam_checks(line, given):
        name = paper.filled(paper.speech.say(value.name), value.params)
        yield Check(name, paper.figure(value.value), paper.say(_CHANGES[value.code]))


_CHANGES = {
    "keg-at-most": _("Cool the keg; leave the dial as it is."),
    "line-at-most": _("Cool the line up to the tap; pour the warm first glass away."),
    "dial-at": _("Set it, and read it again while it pours: if it falls, look for a shut valve or an empty cylinder."),
    "not-faster": _("Open the tap fully; if it is still faster, make the line longer or narrower at its end."),
    "last-stretch": _("Change the last stretch to this length."),
    "cleaned-within": _("Clean line, coupler and tap; change worn seals and washers."),
    "rest-gauge": _("If it is over, leave the gas shut and pour it down; then set the dial."),
    "level-about": _("Gauge the keg at rest; if it is over, shut its gas and pour it down, then set the dial."),
}
"""What is changed where a check does not come out as it should, by its code; common practice, no source."""


def _keg(line: DraughtLine, paper: Paper) -> Iterator[tuple[str, str]]:
    yield paper.say("glasses"), _from_to(line.glasses_per_keg, paper)
    if line.days_on_tap is not None:
        yield paper.say("days on tap"), _from_to(line.days_on_tap, paper, digits=2)
    yield paper.say("in the line"), paper.show(Quantity("volume", line.line_volume_ml))
    yield paper.say("poured away when tapped"), paper.show(Quantity("volume", line.lost.first_pour_ml))
    yield paper.say("poured away for cleaning, a week"), paper.show(Quantity("volume", line.lost.cleaning_ml))
    yield paper.say("left in the keg"), paper.show(Quantity("volume", line.lost.heel_ml))
    if line.cost_lost is not None:
        yield paper.say("cost of what is lost"), paper.money(line.cost_lost)


def _from_to(band: Band, paper: Paper, *, digits: int = 3) -> str:
    low, high = (Shown(paper.speech.short(float(f"{end:.{digits}g}"))) for end in (band.low, band.high))
    return str(low) if low == high else paper.say("{low} to {high}", low=low, high=high)

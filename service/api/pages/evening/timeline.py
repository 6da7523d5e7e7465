"""The time line of an evening as SVG: a line for each person and each piece of gear.

Drinks are told apart by a letter and a pattern, never by colour alone. Everything is an attribute of an element: no
style, no script, nothing from outside.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from xml.etree import ElementTree as ET
from xml.etree.ElementTree import Element, SubElement

from wcwidth import wcswidth

from service.api.pages.chart import INK, SOFT
from service.api.pages.evening.lines import REST_S, Evening, Plan, begin_of, end_of, runs, told_at_once
from service.api.pages.names import cold_place
from service.api.pages.words import strip_control_marks
from service.evening import PlannedTask

SVG = "http://www.w3.org/2000/svg"
LEFT, RIGHT, ROW, THIN, GAP, TOP = 24.0, 26.0, 24.0, 14.0, 6.0, 28.0
"""Layout [px]: margin of names beside their own width, right margin, height of a line and of one in a cold place,
space between lines, margin of hours."""
COLUMN, WIDTH = 6.6, 1040.0
"""Width of a character of a name, and of the drawing [px]."""
LETTERED = 9.0
"""Narrower bars carry no letter [px]."""
PATTERNS = (
    (6, "M0 6 L6 0", 1.2), (6, "M3 0 V6", 1.0), (6, "M0 3 H6", 1.0), (6, "M0 0 L6 6", 1.2), (6, "M0 3 H6 M3 0 V6", 0.8),
    (8, "M4 3.9 V4.1", 3.0), (10, "M0 10 L10 0", 3.2), (10, "M5 0 V10", 3.4), (10, "M0 5 H10", 3.4),
    (8, "M0 0 L8 8 M0 8 L8 0", 0.9), (10, "M0 0 L10 10", 3.2), (5, "M2.5 2.4 V2.6", 1.6),
)  # fmt: skip
"""Size of a tile, its lines, and their width: one for each drink of an evening."""


@dataclass(frozen=True)
class Bar:
    """A stretch of time in a line. drink: its place among the drinks, None of what is done for all"""

    begins: datetime
    ends: datetime
    drink: int | None
    what: str
    litres: float = 0.0
    lane: int = 0


@dataclass(frozen=True)
class Line:
    """A person or a piece of gear, with its bars in as many lanes as they take."""

    name: str
    bars: Sequence[Bar]
    height: float

    @property
    def lanes(self) -> int:
        return 1 + max(bar.lane for bar in self.bars)

    @property
    def whole(self) -> float:
        return self.lanes * self.height + GAP


def timeline(plan: Plan) -> str:
    """Return the drawing of a plan, with a legend."""
    return drawn(Evening(plan), legend=True)


def drawn(evening: Evening, *, legend: bool, prefix: str = "line") -> str:
    """Return the time line. prefix: of its ids, its own in every page"""
    lines = [line for line in _lines(evening) if line.bars]
    bottom = TOP + sum(line.whole for line in lines)
    height = bottom + (16.0 * len(evening.found.drinks) + 22.0 if legend else 4.0)
    root = Element(f"{{{SVG}}}svg", {"viewBox": f"0 0 {WIDTH:g} {height:g}", "role": "img", "font-family": "sans-serif",
                                     "aria-labelledby": f"{prefix}-title {prefix}-desc"})  # fmt: skip
    _text(root, "title", evening.paper.say("Time line of the evening"), {"id": f"{prefix}-title"})
    _text(root, "desc", _described(evening), {"id": f"{prefix}-desc"})
    _patterns(root, len(evening.found.drinks), prefix)
    across = _Across(lines)
    _hours(root, across, bottom, evening)
    y = TOP
    for line in lines:
        _label(root, line.name, 8.0, y + line.height / 2 + 4.0)
        for bar in line.bars:
            _draw(root, evening, bar, across, (y + bar.lane * line.height, line.height), prefix)
        y += line.whole
    if legend:
        _legend(root, evening, bottom + 22.0, across.left, prefix)
    ET.register_namespace("", SVG)
    return ET.tostring(root, encoding="unicode") + "\n"


class _Across:
    """Where a moment stands."""

    def __init__(self, lines: Sequence[Line]) -> None:
        self.begins = min(bar.begins for line in lines for bar in line.bars)
        self.ends = max(bar.ends for line in lines for bar in line.bars)
        self.left = LEFT + COLUMN * max(wcswidth(strip_control_marks(line.name)) for line in lines)
        self.scale = (WIDTH - self.left - RIGHT) / max(60.0, (self.ends - self.begins).total_seconds())

    def __call__(self, at: datetime) -> float:
        return round(self.left + (at - self.begins).total_seconds() * self.scale, 1)


def _described(evening: Evening) -> str:
    found, paper = evening.found, evening.paper
    people = {one.person for one in found.timetable} - {None}
    called = "; ".join(f"{letter} {evening.names[drink]}" for drink, letter in evening.letters.items())
    return paper.say(
        "From {start} on. Tasks: {tasks}; people: {people}. {drinks}. The timetable says the same in words.",
        start=evening.when(found.latest_start), tasks=float(len(found.timetable)), people=float(len(people)),
        drinks=called,
    )  # fmt: skip


def _lines(evening: Evening) -> Iterator[Line]:
    """Yield people, regulators and cold places, in this order."""
    tasks, say = evening.found.timetable, evening.paper.say
    people = sorted({one.person for one in tasks if one.person is not None})
    for number in people:
        name = say("Person {number}", number=float(number))
        yield Line(name, list(_spans([one for one in tasks if one.person == number], evening)), ROW)
    for number in sorted({one.regulator for one in tasks if one.regulator is not None}):
        name = say("Regulator {number}", number=float(number))
        yield Line(name, list(_spans([one for one in tasks if one.regulator == number], evening)), ROW)
    for place in evening.found.cold:
        yield Line(cold_place(place.kind, evening.paper), _laned(_in_the_cold(place.kind, evening)), THIN)


def _spans(tasks: Sequence[PlannedTask], evening: Evening) -> Iterator[Bar]:
    """Yield a bar for each drink that is in hand, however many tasks that is; each lot at the regulator by itself."""
    spans: list[list[PlannedTask]] = []
    for one in tasks:
        last = spans[-1][-1] if spans else None
        near = last is not None and (begin_of(one) - end_of(last)).total_seconds() <= REST_S
        if last is not None and near and last.drink == one.drink and one.code != "set-regulator":
            spans[-1].append(one)
        else:
            spans.append([one])
    for span in spans:
        told = [words for run in runs([one for one in span if one.hands_on_s])
                for words in told_at_once(run, evening, evening.paper.say)]  # fmt: skip
        yield Bar(begin_of(span[0]), end_of(span[-1]), _place(span[0].drink, evening), " ".join(told))


def _place(drink: str | None, evening: Evening) -> int | None:
    return None if drink is None else list(evening.letters).index(drink)


def _in_the_cold(kind: str, evening: Evening) -> Iterator[Bar]:
    """Yield what stands in a cold place, lot by lot; what follows on each other as one."""
    found: list[Bar] = []
    for one in evening.found.timetable:
        litres = sum(use.count for use in one.uses if (use.kind, use.name) == ("cold", kind))
        if not litres:
            continue
        begins, drink = begin_of(one), _place(one.drink, evening)
        same = [(bar.drink, bar.litres, bar.ends) == (drink, litres, begins) for bar in found]
        if any(same):
            found[same.index(True)] = replace(found[same.index(True)], ends=end_of(one))
        else:
            found.append(Bar(begins, end_of(one), drink, evening.paper.say("In the cold."), litres))
    yield from found


def _laned(bars: Iterator[Bar]) -> list[Bar]:
    """Return bars, each in the first lane that is free."""
    free: list[datetime] = []
    found = []
    for bar in bars:
        lane = next((i for i, until in enumerate(free) if until <= bar.begins), len(free))
        free[lane : lane + 1] = [bar.ends]
        found.append(replace(bar, lane=lane))
    return found


def _patterns(root: Element, drinks: int, prefix: str) -> None:
    defs = SubElement(root, f"{{{SVG}}}defs")
    for i in range(drinks):
        size, lines, width = PATTERNS[i]
        tile = {"id": f"{prefix}-p{i}", "width": str(size), "height": str(size), "patternUnits": "userSpaceOnUse"}
        pattern = SubElement(defs, f"{{{SVG}}}pattern", tile)
        SubElement(pattern, f"{{{SVG}}}rect", {"width": str(size), "height": str(size), "fill": "#fff"})
        stroke = {"d": lines, "stroke": SOFT, "stroke-width": str(width), "stroke-linecap": "round", "fill": "none"}
        SubElement(pattern, f"{{{SVG}}}path", stroke)


def _hours(root: Element, across: _Across, bottom: float, evening: Evening) -> None:
    here = evening.paper.speech.here(across.begins)
    step = timedelta(minutes=30 if (across.ends - across.begins) <= timedelta(hours=6) else 60)
    midnight = here.replace(hour=0, minute=0, second=0, microsecond=0)
    at = midnight + step * -(-(here - midnight) // step)
    while at <= across.ends:
        x = across(at)
        line = {"x1": f"{x:g}", "x2": f"{x:g}", "y1": f"{TOP - 8:g}", "y2": f"{bottom:g}", "stroke": "#9aa5ad",
                "stroke-width": "1" if at.minute == 0 else "0.5"}  # fmt: skip
        SubElement(root, f"{{{SVG}}}line", line)
        _label(root, evening.paper.time(at), x, TOP - 14.0, anchor="middle")
        at += step


def _draw(root: Element, evening: Evening, bar: Bar, across: _Across, at: tuple[float, float], prefix: str) -> None:
    """Draw a bar. at: its top, and the height of its line"""
    (y, height), x = at, across(bar.begins)
    width = max(1.5, across(bar.ends) - x)
    letter = "" if bar.drink is None else evening.found.drinks[bar.drink].letter
    group = SubElement(root, f"{{{SVG}}}g")
    _text(group, "title", _told(evening, bar, letter), {})
    fill = "#fff" if bar.drink is None else f"url(#{prefix}-p{bar.drink})"
    box = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{width:g}", "height": f"{height - 4:g}", "fill": fill,
           "stroke": INK, "stroke-width": "0.8"}  # fmt: skip
    SubElement(group, f"{{{SVG}}}rect", box)
    middle, base = x + width / 2, y + height / 2 + 2.0
    if letter and width >= LETTERED:
        ground = {"cx": f"{middle:g}", "cy": f"{base - 4:g}", "r": f"{min(6.5, height / 2 - 2.0):g}", "fill": "#fff"}
        SubElement(group, f"{{{SVG}}}circle", ground)
        _label(group, letter, middle, base, anchor="middle", weight="700")
    elif not letter and wcswidth(bar.what) * COLUMN < width:
        _label(group, bar.what, middle, base, anchor="middle")


def _told(evening: Evening, bar: Bar, letter: str) -> str:
    say, begin, end = evening.paper.say, evening.paper.time(bar.begins), evening.paper.time(bar.ends)
    if not letter:
        return say("{begin} to {end}: {what}", begin=begin, end=end, what=bar.what)
    return say("{drink}, {begin} to {end}: {what}", drink=letter, begin=begin, end=end, what=bar.what)


def _legend(root: Element, evening: Evening, y: float, left: float, prefix: str) -> None:
    for i, (drink, letter) in enumerate(evening.letters.items()):
        top = y + 16.0 * i
        box = {"x": f"{left:g}", "y": f"{top - 10:g}", "width": "30", "height": "13", "fill": f"url(#{prefix}-p{i})",
               "stroke": INK, "stroke-width": "0.8"}  # fmt: skip
        SubElement(root, f"{{{SVG}}}rect", box)
        _label(root, f"{letter}  {evening.names[drink]}"[:100], left + 38.0, top)


def _label(parent: Element, words: str, x: float, y: float, *, anchor: str = "start", weight: str = "400") -> None:
    _text(parent, "text", words, {"x": f"{x:g}", "y": f"{y:g}", "font-size": "11.5", "fill": INK, "text-anchor": anchor,
                                  "font-weight": weight})  # fmt: skip


def _text(parent: Element, tag: str, words: str, attributes: dict[str, str]) -> None:
    SubElement(parent, f"{{{SVG}}}{tag}", attributes).text = strip_control_marks(words)

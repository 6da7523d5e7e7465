"""The time line of an evening as SVG: a line for each person and each piece of gear.

Drinks are told apart by a letter and a pattern, never by colour alone. Everything is an attribute of an element: no
style, no script, nothing from outside.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any
from xml.etree import ElementTree as ET
from xml.etree.ElementTree import Element, SubElement

from service.api.pages.chart import INK, SOFT
from service.api.pages.evening.lines import Body, letters, moment, names, short
from service.api.pages.words import strip_control_marks

SVG = "http://www.w3.org/2000/svg"
LEFT, RIGHT, ROW, GAP, TOP = 86.0, 14.0, 26.0, 6.0, 46.0
"""Layout [px]: margin of names, right margin, height of a line, space between lines, margin of hours."""
WIDTH = 1040.0
SHORT = 9.0
"""Narrower bars carry no letter [px]."""
PATTERNS = (
    (6, "M0 6 L6 0", 1.2), (6, "M3 0 V6", 1.0), (6, "M0 3 H6", 1.0), (6, "M0 0 L6 6", 1.2), (6, "M0 3 H6 M3 0 V6", 0.8),
    (8, "M4 3.9 V4.1", 3.0), (10, "M0 10 L10 0", 3.2), (10, "M5 0 V10", 3.4), (10, "M0 5 H10", 3.4),
    (8, "M0 0 L8 8 M0 8 L8 0", 0.9), (10, "M0 0 L10 10", 3.2), (5, "M2.5 2.4 V2.6", 1.6),
)  # fmt: skip
"""Size of a tile, its lines, and their width: one for each drink of an evening."""

Bar = tuple[datetime, datetime, Body, int]
"""From when to when, which task, and in which lane of its line."""


def timeline(plan: Body, *, prefix: str = "line") -> str:
    """Return the drawing of a plan. prefix: of its ids, its own in every page"""
    rows = [row for row in _rows(plan) if row[1]]
    begins, ends = _ends(plan)
    lanes = [1 + max(bar[3] for bar in bars) for _, bars in rows]
    height = TOP + sum(ROW * count + GAP for count in lanes) + 26.0 + 16.0 * len(plan["drinks"])
    root = Element(f"{{{SVG}}}svg", {"viewBox": f"0 0 {WIDTH:g} {height:g}", "role": "img", "font-family": "sans-serif",
                                     "aria-labelledby": f"{prefix}-title {prefix}-desc"})  # fmt: skip
    _text(root, "title", "Time line of the evening", {"id": f"{prefix}-title"})
    _text(root, "desc", _described(plan), {"id": f"{prefix}-desc"})
    _patterns(root, plan, prefix)
    across = _Across(begins, ends)
    bottom = TOP + sum(ROW * count + GAP for count in lanes)
    _hours(root, across, bottom)
    y = TOP
    for (name, bars), count in zip(rows, lanes, strict=True):
        _label(root, name, 8.0, y + ROW / 2 + 4.0)
        for bar in bars:
            _draw(root, plan, bar, across, y, prefix)
        y += ROW * count + GAP
    _legend(root, plan, bottom + 22.0, prefix)
    ET.register_namespace("", SVG)
    return ET.tostring(root, encoding="unicode") + "\n"


class _Across:
    """Where a moment stands."""

    def __init__(self, begins: datetime, ends: datetime) -> None:
        self.begins, self.ends = begins, ends
        self.scale = (WIDTH - LEFT - RIGHT) / max(60.0, (ends - begins).total_seconds())

    def __call__(self, at: datetime) -> float:
        return round(LEFT + (at - self.begins).total_seconds() * self.scale, 1)


def _ends(plan: Body) -> tuple[datetime, datetime]:
    tasks = plan["timetable"]
    return min(moment(one["begins_at"]) for one in tasks), max(moment(one["ends_at"]) for one in tasks)


def _described(plan: Body) -> str:
    people = {one["person"] for one in plan["timetable"] if "person" in one}
    called = "; ".join(f"{one['letter']} {names(plan)[one['id']]}" for one in plan["drinks"])
    return strip_control_marks(
        f"From {plan['latest_start']} on, {len(plan['timetable'])} tasks by {len(people)} people. {called}. "
        "The timetable says the same in words."
    )


def _rows(plan: Body) -> Iterator[tuple[str, list[Bar]]]:
    """Yield each line by its name, with its bars."""
    tasks = plan["timetable"]
    for load in plan["loads"]:
        kind, name = load["kind"], load["name"]
        if kind == "crew":
            yield f"Person {name}", _laned([t for t in tasks if str(t.get("person")) == name])
        elif kind == "regulator":
            yield f"Regulator {name}", _laned([t for t in tasks if str(t.get("regulator")) == name])
    for place in plan["cold"]:
        here = [t for t in tasks if any(u["kind"] == "cold" and u["name"] == place["kind"] for u in t["uses"])]
        yield place["kind"], _laned(_joined(here))


def _joined(tasks: Sequence[Body]) -> Sequence[Body]:
    """Return what follows on each other in a cold place as one, lot by lot."""
    found: list[dict[str, Any]] = []
    for one in tasks:
        amount = next(u["count"] for u in one["uses"] if u["kind"] == "cold")
        before = next((f for f in found if f["drink"] == one.get("drink") and f["ends_at"] == one["begins_at"]
                       and f["amount"] == amount), None)  # fmt: skip
        if before is not None:
            before["ends_at"] = one["ends_at"]
        else:
            found.append({"drink": one.get("drink"), "begins_at": one["begins_at"], "ends_at": one["ends_at"],
                          "amount": amount, "code": "", "text": "In the cold", "hands_on_s": 0})  # fmt: skip
    return found


def _laned(tasks: Sequence[Body]) -> list[Bar]:
    """Return the tasks as bars, each in the first lane that is free."""
    free: list[datetime] = []
    found = []
    for one in tasks:
        begins, ends = moment(one["begins_at"]), moment(one["ends_at"])
        lane = next((i for i, until in enumerate(free) if until <= begins), len(free))
        free[lane : lane + 1] = [ends]
        found.append((begins, ends, one, lane))
    return found


def _patterns(root: Element, plan: Body, prefix: str) -> None:
    defs = SubElement(root, f"{{{SVG}}}defs")
    for i, _ in enumerate(plan["drinks"]):
        size, lines, width = PATTERNS[i]
        tile = {"id": f"{prefix}-p{i}", "width": str(size), "height": str(size), "patternUnits": "userSpaceOnUse"}
        pattern = SubElement(defs, f"{{{SVG}}}pattern", tile)
        SubElement(pattern, f"{{{SVG}}}rect", {"width": str(size), "height": str(size), "fill": "#fff"})
        stroke = {"d": lines, "stroke": SOFT, "stroke-width": str(width), "stroke-linecap": "round", "fill": "none"}
        SubElement(pattern, f"{{{SVG}}}path", stroke)


def _hours(root: Element, across: _Across, bottom: float) -> None:
    step = timedelta(minutes=30 if (across.ends - across.begins) <= timedelta(hours=6) else 60)
    midnight = across.begins.replace(hour=0, minute=0, second=0, microsecond=0)
    at = midnight + step * -(-(across.begins - midnight) // step)
    while at <= across.ends:
        x = across(at)
        line = {"x1": f"{x:g}", "x2": f"{x:g}", "y1": f"{TOP - 8:g}", "y2": f"{bottom:g}", "stroke": "#9aa5ad",
                "stroke-width": "1" if at.minute == 0 else "0.5"}  # fmt: skip
        SubElement(root, f"{{{SVG}}}line", line)
        if at.minute == 0 or step == timedelta(hours=1):
            _label(root, f"{at:%H:%M}", x, TOP - 14.0, anchor="middle")
        at += step


def _draw(root: Element, plan: Body, bar: Bar, across: _Across, top: float, prefix: str) -> None:
    begins, ends, task, lane = bar
    x, width = across(begins), max(1.5, across(ends) - across(begins))
    y = top + lane * ROW
    letter = letters(plan).get(task.get("drink") or "", "")
    index = next((i for i, one in enumerate(plan["drinks"]) if one["letter"] == letter), None)
    fill = "#fff" if index is None else f"url(#{prefix}-p{index})"
    group = SubElement(root, f"{{{SVG}}}g")
    _text(group, "title", f"{begins:%H:%M} to {ends:%H:%M} {letter} {short(task)}", {})
    box = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{width:g}", "height": f"{ROW - 4:g}", "fill": fill, "stroke": INK,
           "stroke-width": "0.8"}  # fmt: skip
    SubElement(group, f"{{{SVG}}}rect", box)
    if width >= SHORT:
        middle, base = x + width / 2, y + ROW / 2 + 2.0
        SubElement(group, f"{{{SVG}}}circle", {"cx": f"{middle:g}", "cy": f"{base - 4:g}", "r": "6.5", "fill": "#fff"})
        _label(group, letter or "·", middle, base, anchor="middle", weight="700")


def _legend(root: Element, plan: Body, y: float, prefix: str) -> None:
    for i, one in enumerate(plan["drinks"]):
        top = y + 16.0 * i
        box = {"x": f"{LEFT:g}", "y": f"{top - 10:g}", "width": "30", "height": "13", "fill": f"url(#{prefix}-p{i})",
               "stroke": INK, "stroke-width": "0.8"}  # fmt: skip
        SubElement(root, f"{{{SVG}}}rect", box)
        _label(root, f"{one['letter']}  {names(plan)[one['id']]}"[:100], LEFT + 38.0, top)


def _label(parent: Element, words: str, x: float, y: float, *, anchor: str = "start", weight: str = "400") -> None:
    _text(parent, "text", words, {"x": f"{x:g}", "y": f"{y:g}", "font-size": "11.5", "fill": INK, "text-anchor": anchor,
                                  "font-weight": weight})  # fmt: skip


def _text(parent: Element, tag: str, words: str, attributes: dict[str, str]) -> None:
    SubElement(parent, f"{{{SVG}}}{tag}", attributes).text = strip_control_marks(words)

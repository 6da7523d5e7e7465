"""The bench ticket: a prep sheet as narrow text, one number a line, boxes to tick."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from wcwidth import rjust, width, wrap

from service.api.pages.words import (
    ascii_only,
    day_and_time,
    duration_text,
    isolated,
    left_to_right,
    step_value_text,
    strip_control_marks,
)
from service.safety_rules import SAFETY_RULES

DEFAULT_COLUMNS = 48
QUERY: dict[str, dict[str, Any]] = {
    "columns": {
        "type": "integer",
        "format": "int32",
        "minimum": 32,
        "maximum": 80,
        "description": f"Width of the ticket in characters, {DEFAULT_COLUMNS} unless stated; with text only. Wide "
        "characters count two.",
    },
    "charset": {
        "type": "string",
        "enum": ["utf-8", "ascii"],
        "description": "Characters of the ticket, utf-8 unless stated; with text only. ascii is for printers that know "
        "no other: accents are dropped, signs are spelt, the rest becomes a question mark.",
    },
}
INDENT = " " * 7
APPROVAL = "Arithmetic, not approval: the maker's rating, local code and a competent person decide."

Body = Mapping[str, Any]


def ticket(sheet: Body, query: Mapping[str, str]) -> str:
    """Return the ticket of a prep sheet's answer: the work of bench and bar, without the manager's part.

    query: columns, 32 to 80; charset
    """
    columns = int(query.get("columns", DEFAULT_COLUMNS))
    clean = ascii_only if query.get("charset") == "ascii" else strip_control_marks
    shown = _printable(sheet, clean)
    steps = [step for step in shown["steps"] if step["station"] != "manager"]
    lines = [
        *_head(shown, columns), *_before(shown, columns, clean), *_steps(steps, columns), *_foot(shown, columns)
    ]  # fmt: skip
    return "\n".join(left_to_right(line.rstrip()) for line in lines) + "\n"


def _printable(sheet: Body, clean: Callable[[str], str]) -> Body:
    """Return the parts of the sheet that the ticket shows, in characters that the printer has."""

    def each(node: Any) -> Any:
        if isinstance(node, str):
            return clean(node)
        if isinstance(node, list):
            return [each(inner) for inner in node]
        return {name: each(inner) for name, inner in node.items()} if isinstance(node, dict) else node

    shown = ("label", "steps", "cautions", "latest_start", "total_s")
    return {name: each(sheet[name]) for name in shown if name in sheet} | {"serves": sheet["batch"]["serves"]}


def _head(sheet: Body, columns: int) -> Iterator[str]:
    yield from wrap(sheet["label"]["name"].upper(), columns)
    lot = [line["text"] for line in sheet["label"]["lines"] if line["name"] == "lot"]
    yield from (line for text in lot for line in _pair("lot", text, columns))
    yield from _pair("serves", str(sheet["serves"]), columns)
    if "latest_start" in sheet:
        yield from _pair("start by", day_and_time(sheet["latest_start"]), columns)
    if "total_s" in sheet:
        yield from _pair("first serve after", duration_text(sheet["total_s"], up=True), columns)
    apart = [str(step["number"]) for step in sheet["steps"] if step["station"] == "manager"]
    if apart:
        yield from wrap(f"The manager's part is apart: step {', '.join(apart)}.", columns)


def _before(sheet: Body, columns: int, clean: Callable[[str], str]) -> Iterator[str]:
    """Yield the cautions of this sheet, then the rules that hold every night: both are read before the work."""
    yield "=" * columns
    yield from wrap("BEFORE YOU START", columns)
    yield from _cautions(sheet, columns)
    yield from wrap(clean("; ".join(rule.short for rule in SAFETY_RULES) + "."), columns)


def _steps(steps: list[Body], columns: int) -> Iterator[str]:
    station = ""
    for step in steps:
        if step["station"] != station:
            station = step["station"]
            yield "=" * columns
            yield station.upper()
        yield from _step(step, columns)


def _step(step: Body, columns: int) -> Iterator[str]:
    yield "-" * columns
    first, *rest = wrap(step["text"], columns - len(INDENT)) or [""]
    yield f"[ ] {step['number']:>2} {first}"
    yield from (INDENT + line for line in rest)
    for caution in step["cautions"]:
        lines = wrap(caution["text"], columns - len(INDENT))
        yield from (f"{'  !!   ' if i == 0 else INDENT}{line}" for i, line in enumerate(lines))
    for value in step["values"]:
        yield from _pair(value["name"], step_value_text(value), columns, INDENT)
    if "timer" in step:
        times = step["timer"]["times"]
        name = "timer, each" if times > 1 else "timer"
        yield from _pair(name, duration_text(step["timer"]["each_s"]), columns, INDENT)
        if times > 1:
            yield from _pair("times", str(times), columns, INDENT)


def _cautions(sheet: Body, columns: int) -> Iterator[str]:
    serious = [c for c in sheet["cautions"] if c["severity"] != "info"]
    for caution in serious:
        yield from (f"{'!! ' if i == 0 else '   '}{line}" for i, line in enumerate(wrap(caution["text"], columns - 3)))


def _foot(sheet: Body, columns: int) -> Iterator[str]:
    yield "=" * columns
    yield from wrap(sheet["label"]["statement"], columns)
    yield from wrap(APPROVAL, columns)


def _pair(name: str, text: str, columns: int, indent: str = "") -> Iterator[str]:
    """Yield a name on the left and its value on the right, on two lines where one is too narrow."""
    room = columns - len(indent)
    if width(name) + 1 + width(text) <= room:
        yield indent + isolated(name) + " " * (room - width(name) - width(text)) + isolated(text)
    else:
        yield from (indent + line for line in wrap(name, room))
        yield from (indent + rjust(line, room) for line in wrap(text, room))

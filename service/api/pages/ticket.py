"""The bench ticket: a prep sheet as narrow text, one number a line, boxes to tick."""

from collections.abc import Iterator, Mapping
from typing import Any

from wcwidth import rjust, width, wrap

DEFAULT_COLUMNS = 48
INDENT = " " * 7
TURNS = dict.fromkeys([0x200E, 0x200F, 0x061C, *range(0x202A, 0x202F), *range(0x2066, 0x206A)])
"""Marks that turn the direction of what follows; a printer must not be talked into reordering a number."""
APPROVAL = "Arithmetic, not approval: the maker's rating, local code and a competent person decide."


def ticket(sheet: Mapping[str, Any], query: Mapping[str, str]) -> str:
    """The ticket of a prep sheet's answer: what bench and bar do. The manager's part is not on it.

    query: columns, 32 to 80
    """
    columns = int(query.get("columns", DEFAULT_COLUMNS))
    steps = [step for step in sheet["steps"] if step["station"] != "manager"]
    lines = [*_head(sheet, columns), *_steps(steps, columns), *_cautions(sheet, columns), *_foot(sheet, columns)]
    return "\n".join(line.rstrip() for line in lines).translate(TURNS) + "\n"


def _head(sheet: Mapping[str, Any], columns: int) -> Iterator[str]:
    yield from wrap(sheet["label"]["name"].upper(), columns)
    lot = [line["text"] for line in sheet["label"]["lines"] if line["name"] == "lot"]
    yield from (line for text in lot for line in _pair("lot", text, columns))
    yield from _pair("serves", str(sheet["batch"]["serves"]), columns)
    apart = [str(step["number"]) for step in sheet["steps"] if step["station"] == "manager"]
    if apart:
        yield from wrap(f"The manager's part is apart: step {', '.join(apart)}.", columns)


def _steps(steps: list[Mapping[str, Any]], columns: int) -> Iterator[str]:
    station = ""
    for step in steps:
        if step["station"] != station:
            station = step["station"]
            yield "=" * columns
            yield station.upper()
        yield from _step(step, columns)


def _step(step: Mapping[str, Any], columns: int) -> Iterator[str]:
    yield "-" * columns
    first, *rest = wrap(step["text"], columns - len(INDENT)) or [""]
    yield f"[ ] {step['number']:>2} {first}"
    yield from (INDENT + line for line in rest)
    for value in step["values"]:
        yield from _pair(value["name"], value["text"], columns, INDENT)
    if "timer_s" in step:
        yield from _pair("timer", _clock(step["timer_s"]), columns, INDENT)
    if "caution" in step:
        yield from (
            f"{'  !!   ' if i == 0 else INDENT}{line}"
            for i, line in enumerate(wrap(step["caution"], columns - len(INDENT)))
        )


def _cautions(sheet: Mapping[str, Any], columns: int) -> Iterator[str]:
    serious = [c for c in sheet["cautions"] if c["severity"] != "info"]
    if serious:
        yield "=" * columns
        yield "CAUTIONS"
    for caution in serious:
        yield from (f"{'!! ' if i == 0 else '   '}{line}" for i, line in enumerate(wrap(caution["text"], columns - 3)))


def _foot(sheet: Mapping[str, Any], columns: int) -> Iterator[str]:
    yield "=" * columns
    yield from wrap(sheet["label"]["statement"], columns)
    yield from wrap(APPROVAL, columns)


def _pair(name: str, text: str, columns: int, indent: str = "") -> Iterator[str]:
    """Name on the left, value on the right; on two lines where one is too narrow."""
    room = columns - len(indent)
    if width(name) + 1 + width(text) <= room:
        yield indent + name + rjust(text, room - width(name))
    else:
        yield from (indent + line for line in wrap(name, room))
        yield from (indent + rjust(line, room) for line in wrap(text, room))


def _clock(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)  # downwards: a timer rings early, never late
    if not minutes:
        return f"{rest} s"
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes:02d} min"
    return f"{minutes} min" + (f" {rest:02d} s" if rest and minutes < 10 else "")

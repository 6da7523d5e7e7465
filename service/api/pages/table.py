"""The answer as one long table: a row for each figure and each text, in the order of the JSON answer (RFC 4180).

section: name at the top of the answer; item: what the row is about; quantity: what of it. A figure stands in value,
a band in low, typical and high, both with their unit; numbers are never rounded. text is a text, or a figure as people
read it. What a spreadsheet would take for a formula gets an apostrophe in front.
"""

import csv
from collections.abc import Iterator, Mapping
from io import StringIO
from typing import Any

from service.api.pages.words import strip_control_marks

HEADERS = {"Content-Type": "text/csv; charset=utf-8; header=present"}
COLUMNS = ("section", "item", "quantity", "value", "low", "typical", "high", "unit", "text")
_NAMES = ("name", "component", "number", "code", "country", "acid", "allergen", "change", "vessel")
"""Fields that tell one object of a list from the next; the first that it has counts."""
_FIGURES = (frozenset({"value", "unit"}), frozenset({"low", "typical", "high"}), frozenset({"amount", "currency"}))
_LINE = frozenset({"code", "name", "text", "value", "unit"})
"""A figure with its own name, as the values of a step."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")

Cells = Mapping[str, str | float]


def table(answer: Mapping[str, Any], query: Mapping[str, str]) -> str:
    """Return the table of an answer."""
    file = StringIO()
    writer = csv.writer(file)  # commas, quotes where needed, CRLF: RFC 4180
    writer.writerow(COLUMNS)
    for section, node in answer.items():
        for item, quantity, cells in _rows(node, (), ()):
            named = {"section": section, "item": " / ".join(item), "quantity": " ".join(quantity), **cells}
            writer.writerow([cell(named.get(column, "")) for column in COLUMNS])
    return file.getvalue()


def _rows(node: Any, item: tuple[str, ...], quantity: tuple[str, ...]) -> Iterator[tuple[Any, Any, Cells]]:
    if isinstance(node, dict):
        if any(figure <= node.keys() for figure in _FIGURES) and not node.keys() & {"name", "text"}:
            yield item, quantity, _figure(node)
        elif {"name", "text"} <= node.keys() <= _LINE:
            yield item, (*quantity, node["name"]), {key: node[key] for key in node if key not in ("name", "code")}
        else:
            for key, inner in node.items():
                yield from _rows(inner, item, (*quantity, key))
    elif isinstance(node, list):
        for position, inner in enumerate(node, 1):
            yield from _rows(inner, *_listed(inner, position, item, quantity))
    elif isinstance(node, bool) or not isinstance(node, int | float):
        yield item, quantity, {"text": node if isinstance(node, str) else str(node).lower()}
    else:
        yield item, quantity, {"value": node}


def _listed(inner: Any, position: int, item: tuple[str, ...], quantity: tuple[str, ...]) -> tuple[Any, Any]:
    """Return the name of an element of a list: objects by their own names, others by their place."""
    if not isinstance(inner, dict) or {"name", "text"} <= inner.keys() <= _LINE:
        return item, quantity
    name = next((str(inner[key]) for key in _NAMES if key in inner), str(position))
    return (*item, name), quantity


def _figure(node: Mapping[str, Any]) -> Cells:
    if "currency" in node:
        return {"value": float(node["amount"]), "unit": node["currency"], "text": node["amount"]}
    unit = " as ".join(node[key] for key in ("unit", "expressed_as") if key in node)
    return {**{key: node[key] for key in ("value", "low", "typical", "high") if key in node}, "unit": unit}


def cell(value: str | float) -> str | float:
    """Return a value for a table: one that a spreadsheet takes for a formula gets an apostrophe in front."""
    if not isinstance(value, str):
        return value
    words = strip_control_marks(value)
    return f"'{words}" if words.lstrip(" ").startswith(_FORMULA) else words

"""The columns of a sheet, and what each is of a spec."""

import re
from collections.abc import Callable, Mapping
from typing import Any

COLUMNS = (
    "spec", "component", "amount", "unit", "abv", "sugar_g_per_l", "acidity_g_per_l", "acidity_as", "reference",
    "syrup_ratio", "acid_1", "percent_1", "acid_2", "percent_2", "allergens", "stock_code", "stock_unit", "glass",
    "ice", "garnish", "note",
)  # fmt: skip
NEEDED = ("spec", "component", "amount", "unit")
"""Columns that every sheet has, and every row fills in."""
NUMBERS = ("amount", "abv", "sugar_g_per_l", "acidity_g_per_l", "syrup_ratio", "percent_1", "percent_2")
OF_THE_SPEC = ("glass", "ice", "garnish", "note")
"""How a glass is finished: one row of a spec says it, or several say the same."""
NO_ALLERGENS = "none"

Cells = Mapping[str, Any]


def _quantity(value: str, unit: str, more: str = "") -> Callable[[Cells], Any]:
    """Return what makes a quantity of its cells. more: column of what its number is expressed as"""

    def made(cells: Cells) -> Any:
        found = {"value": cells[value]} if value in cells else {}
        return found | {"unit": unit} | ({"expressed_as": cells[more]} if more in cells else {})

    return made


def _allergens(cells: Cells) -> Any:
    words = [word.strip() for word in re.split("[,;|]", cells["allergens"])]
    return [] if words == [NO_ALLERGENS] else [word for word in words if word]


def _acids(cells: Cells) -> Any:
    acids = []
    for i in ("1", "2"):
        part = {"acid": cells.get(f"acid_{i}"), "percent": cells.get(f"percent_{i}")}
        if any(value is not None for value in part.values()):
            acids.append({name: value for name, value in part.items() if value is not None})
    return {"basis": "w/w", "acids": acids}


_FIELDS: tuple[tuple[str, tuple[str, ...], Callable[[Cells], Any]], ...] = (
    ("name", ("component",), lambda cells: cells["component"]),
    ("amount", ("amount", "unit"), lambda cells: {"value": cells.get("amount"), "unit": cells.get("unit")}),
    ("abv", ("abv",), lambda cells: cells["abv"]),
    ("sugar", ("sugar_g_per_l",), _quantity("sugar_g_per_l", "g/l")),
    ("acidity", ("acidity_g_per_l", "acidity_as"), _quantity("acidity_g_per_l", "g/l", "acidity_as")),
    ("reference", ("reference",), lambda cells: cells["reference"]),
    ("syrup", ("syrup_ratio",), lambda cells: {"sugar_to_water": cells["syrup_ratio"], "by": "mass"}),
    ("acid_solution", ("acid_1", "percent_1", "acid_2", "percent_2"), _acids),
    ("allergens", ("allergens",), _allergens),
    ("stock_code", ("stock_code",), lambda cells: cells["stock_code"]),
    ("stock_unit", ("stock_unit",), lambda cells: cells["stock_unit"]),
)
"""Field of a component, the columns that make it, and how."""


def component_of(cells: Cells) -> dict[str, Any]:
    """Return the component that a row states; what its cells leave out is left out."""
    return {field: made(cells) for field, columns, made in _FIELDS if any(column in cells for column in columns)}


_WITHIN = {
    "amount/unit": "unit", "acidity/expressed_as": "acidity_as", "acid_solution/acids/0/percent": "percent_1",
    "acid_solution/acids/1/percent": "percent_2", "acid_solution/acids/1": "acid_2",
}  # fmt: skip
"""Where a field is made of several columns: place within it -> column, the first of the field elsewhere."""
_FIRST = {field: first for field, (first, *_), _ in _FIELDS}


def column_of(way: str) -> str:
    """Return the column that a place within a component comes from; that of its name where none does.

    way: tokens of a JSON Pointer, as amount/unit
    """
    within = next((column for place, column in _WITHIN.items() if way.startswith(place)), None)
    return within or _FIRST.get(way.partition("/")[0], "component")

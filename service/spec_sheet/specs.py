"""From the rows of a sheet to the specs that they state, each as a request would have it."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from service.errors import Fault, Refused, Term
from service.limits.requests import MOST_ITEMS
from service.notes import Notes
from service.spec_sheet.columns import NEEDED, NUMBERS, OF_THE_SPEC, column_of, component_of
from service.spec_sheet.fault import CellFault
from service.spec_sheet.reading import Row, Sheet

_FORMULA = ("=", "@", "+", "-", "＝", "＋", "－", "＠")
_NUMBER = re.compile(r"[+-]?[0-9]{1,12}([.,][0-9]{1,12})?")


@dataclass
class SheetSpec:
    """The rows of one spec. document: the spec as a request has it; faults: for which it is not answered"""

    rows: list[int] = field(default_factory=list)
    document: dict[str, Any] = field(default_factory=dict)
    faults: list[CellFault] = field(default_factory=list)
    finished_at: dict[str, int] = field(default_factory=dict)
    """Row of each word on how the glass is finished."""

    def place_of(self, pointer: str) -> tuple[int, str]:
        """Return row and column of a JSON Pointer into the spec; those of its name where it is of no one cell."""
        _, *way = pointer.split("/")
        if way[:1] == ["components"] and len(way) > 1:
            return self.rows[int(way[1])], column_of("/".join(way[2:]))
        if way[:1] == ["serve"] and len(way) > 1 and way[1] in self.finished_at:
            return self.finished_at[way[1]], way[1]
        return self.rows[0], "spec"


def specs_of(sheet: Sheet, notes: Notes) -> tuple[list[SheetSpec], list[CellFault]]:
    """Return the specs in the order of their first rows, and the faults of rows that may be of none of them.

    raises: Refused ("invalid-request") for more specs than one request takes
    """
    comma = sheet.semicolons and any("," in row.cells.get(name, "") for row in sheet.rows for name in NUMBERS)
    specs: dict[str, SheetSpec] = {}
    faults: list[CellFault] = []
    above: SheetSpec | None = None
    for row in sheet.rows:
        name = row.cells.get("spec")
        wrong, cells = _read(row, "," if comma else ".")
        if name is None:  # it may be of the spec above, which lacks it then
            (above.faults if above is not None else faults).extend(wrong)
            continue
        above = spec = specs.setdefault(name, SheetSpec(document={"name": name, "components": []}))
        spec.rows.append(row.number)
        spec.faults += [*wrong, *_finish(spec, row)]
        spec.document["components"].append(component_of(cells))
    if len(specs) > MOST_ITEMS:
        text = "A sheet holds at most {most} specs; this holds {count}."
        params = (("most", float(MOST_ITEMS)), ("count", float(len(specs))))
        raise Refused("invalid-request", [Fault("", "too-many-specs", text, params)])
    if not sheet.rows:
        notes.caution("no-rows", "warning", "No spec was read: the table has no row below its header.")
    _assume(sheet, notes)
    return list(specs.values()), faults


def _read(row: Row, mark: str) -> tuple[list[CellFault], dict[str, Any]]:
    """Return what is wrong with the cells of a row, and those that are right, numbers as such."""
    faults = [CellFault(row.number, name, "required", "This cell is required.") for name in NEEDED
              if name not in row.cells]  # fmt: skip
    if row.stray is not None:
        faults.append(CellFault(row.number, str(row.stray), "no-header", "The header has no column for this cell."))
    cells: dict[str, Any] = {}
    for name, cell in row.cells.items():
        number = _NUMBER.fullmatch(cell) if name in NUMBERS else None
        if number is not None and (number[1] is None or number[1][0] == mark):
            cells[name] = float(cell.replace(",", ".")) if number[1] else int(cell)
        elif number is None and cell.startswith(_FORMULA):
            text = "State its value: a cell that begins with {sign} is a formula to a spreadsheet."
            faults.append(CellFault(row.number, name, "formula", text, {"sign": cell[0]}))
        elif name in NUMBERS:
            text = "Must be a number alone, such as 22 or 22{mark}5."
            faults.append(CellFault(row.number, name, "not-a-plain-number", text, {"mark": mark}))
        else:
            cells[name] = cell
    return faults, cells


def _finish(spec: SheetSpec, row: Row) -> Iterator[CellFault]:
    """Take in how the glass is finished; yield what another row of the spec says otherwise."""
    for name in OF_THE_SPEC:
        if name not in row.cells:
            continue
        serve = spec.document.setdefault("serve", {})
        if serve.setdefault(name, row.cells[name]) != row.cells[name]:
            text = "State it in one row: row {row} says otherwise of the same spec."
            yield CellFault(row.number, name, "contradicts-row", text, {"row": float(spec.finished_at[name])})
        spec.finished_at.setdefault(name, row.number)


def _assume(sheet: Sheet, notes: Notes) -> None:
    """Note what the columns themselves say."""
    stated: Sequence[str] = [name for row in sheet.rows for name in row.cells]
    if "acid_1" in stated or "acid_2" in stated:
        notes.assume("per cent of acids in a sheet", Term("by mass, w/w"), "default")
    if "syrup_ratio" in stated:
        notes.assume("ratio of syrups in a sheet", Term("sugar to water, by mass"), "default")

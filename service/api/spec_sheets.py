"""POST /v1/spec-sheets, and the template of a sheet."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, cast

from marshmallow import ValidationError

from service import batching
from service.api import problems, wire
from service.api.endpoint import Operation, Reference
from service.api.openapi.paths import example
from service.declared import Declared, Inline, text
from service.drink import Spec
from service.limits.requests import LARGEST_BODY, MOST_FINDINGS, MOST_ITEMS, MOST_SPEC_LINES
from service.notes import Notes
from service.request import Request
from service.science.units import UnitSystem
from service.spec_check import Finding, Smallest, check, smallest_of
from service.spec_check.finding import Verdict
from service.spec_sheet import CellFault, SheetSpec, read, specs_of

_SPEC = wire.object_of(Spec)


@dataclass(frozen=True, kw_only=True)
class SpecSheetRequest(Request):
    """A table of specs, RFC 4180 in UTF-8: a header, then a row for each component; commas or semicolons."""

    table: bytes


@dataclass(frozen=True)
class SheetFinding:
    """One thing to put right or to know, and the cell that it is about; its pointer is into this answer."""

    found: Inline[Finding]
    row: Declared[int]
    column: Annotated[str, text(200)]


@dataclass(frozen=True)
class SheetSpecAnswer:
    """One spec of the sheet, as requests take it, and what was found in it, the gravest first."""

    spec: Annotated[Any, wire.request_schema(Spec)]
    spec_id: Annotated[str, text(100)]
    carbonate: Annotated[Verdict, "The worst that any finding makes of it: arithmetic, not approval."]
    findings: Declared[tuple[SheetFinding, ...]]


@dataclass(frozen=True)
class SpecSheet:
    """The specs of a sheet in the order of their first rows."""

    specs: Declared[tuple[SheetSpecAnswer, ...]]
    refused: Annotated[
        tuple[CellFault, ...], f"Up to {MOST_FINDINGS} faults of cells. A spec with a refused row is not in specs."
    ] = field(default=())


def create_spec_sheet(asked: SpecSheetRequest, notes: Notes) -> SpecSheet:
    """Answer POST /v1/spec-sheets."""
    found, faults = specs_of(read(asked.table), notes)
    with notes.within({"/smallest_batch": None, "/scale": None}):
        smallest = smallest_of(None, None, notes)
    specs: list[SheetSpecAnswer] = []
    for one in found:
        loaded = _loaded(one)
        if loaded is None or one.faults:
            faults += one.faults
        else:
            specs.append(_checked(one, loaded, smallest, notes, f"/specs/{len(specs)}/spec"))
    faults.sort(key=lambda fault: fault.row)
    return SpecSheet(tuple(specs), tuple(faults[:MOST_FINDINGS]))


def _loaded(one: SheetSpec) -> Spec | None:
    """Return the spec; None where it cannot be, with the faults of its cells, beside those that are told already."""
    told = {(fault.row, fault.column) for fault in one.faults}
    try:
        return cast("Spec", _SPEC.deserialize(one.document))
    except ValidationError as error:
        for fault in problems.faults_of(error)[:MOST_FINDINGS]:
            row, column = one.place_of(fault.pointer)
            if (row, column) not in told:
                one.faults.append(CellFault(row, column, fault.code, fault.text, dict(fault.params)))
    return None


def _checked(one: SheetSpec, spec: Spec, smallest: Smallest, notes: Notes, at: str) -> SheetSpecAnswer:
    found = check(spec, smallest, notes, at=at)
    placed = [SheetFinding(each, *one.place_of(each.pointer.removeprefix(at))) for each in found.findings]
    return SheetSpecAnswer(one.document, batching.spec_id(spec), found.carbonate, tuple(placed))


def _asked(table: bytes, query: Mapping[str, str]) -> SpecSheetRequest:
    return SpecSheetRequest(table=table, units=cast("UnitSystem | None", query.get("units")))


class SpecSheetTemplate:
    """A filled-in sheet, RFC 4180 in UTF-8, to begin one's own with."""


def _template() -> str:
    return str(example("createSpecSheet"))


OPERATIONS = (
    Operation(
        path="/v1/spec-sheets",
        operation_id="createSpecSheet",
        tag="batching",
        summary="Specs out of a spreadsheet, checked.",
        description="A table in, specs out, as every other operation takes them, each with its spec_id and the "
        "findings of /v1/spec-checks by row and column. A row is a component: spec, component, amount and unit it must "
        "state; syrup_ratio is sugar to water by mass, acids are per cent by mass, allergens stand apart by commas, "
        "semicolons or bars, or are none. A cell that is a formula, no number, or out of bounds refuses its row, and "
        "its spec is not answered; what is no table, or lacks a column, refuses the whole. Numbers of a sheet with "
        f"semicolons may have decimal commas. Up to {MOST_SPEC_LINES} rows, {MOST_ITEMS} specs and {LARGEST_BODY} "
        "bytes. GET /v1/references/spec-sheet is a template.",
        request=SpecSheetRequest,
        answer=SpecSheet,
        view=create_spec_sheet,
        takes="csv",
        read=_asked,
        query={"units": {"type": "string", "enum": ["metric", "us"], "description": "Units of findings."}},
    ),
)
TEMPLATE = Reference(
    path="/v1/references/spec-sheet",
    operation_id="getSpecSheetTemplate",
    summary="A sheet of specs to begin one's own with.",
    description="The columns that /v1/spec-sheets takes, filled in with invented drinks.",
    answer=SpecSheetTemplate,
    read=_template,
    form="csv",
)

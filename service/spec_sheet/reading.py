"""From the bytes of a table to its rows (RFC 4180: quotes, a header; commas or semicolons, UTF-8)."""

import csv
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from io import StringIO

from service.errors import Fault, Names, Refused
from service.limits.requests import LONGEST_NAMED, MOST_FAULTS, MOST_LIKENED, MOST_SPEC_LINES
from service.spec_sheet.columns import COLUMNS, NEEDED


@dataclass(frozen=True)
class Row:
    """One row. number: as a spreadsheet counts, the header being 1; cells: those that are not blank, by column

    stray: place of the first cell that the header has no column for, counted from 1
    """

    number: int
    cells: Mapping[str, str]
    stray: int | None


@dataclass(frozen=True)
class Sheet:
    """The rows of a table. semicolons: they separate its cells"""

    rows: tuple[Row, ...]
    semicolons: bool


def read(body: bytes) -> Sheet:
    """Return the rows of a table by its header.

    raises: Refused ("invalid-csv") for what is no table, ("invalid-request") for one without the columns it needs
    """
    text = _decoded(body)
    first = text.partition("\n")[0]
    semicolons = first.count(";") > first.count(",")
    records = _records(text, ";" if semicolons else ",")
    header = [cell.strip() for cell in next(records, (0, []))[1]]
    _check_header(header)
    rows: list[Row] = []
    for number, cells in records:
        if len(rows) == MOST_SPEC_LINES:
            text, most = "A table holds at most {most} rows.", (("most", float(MOST_SPEC_LINES)),)
            raise Refused("invalid-request", [Fault("", "too-many-rows", text, most)])
        named = {name: cell.strip() for name, cell in zip(header, cells, strict=False) if name}
        stray = (i for i, cell in enumerate(cells, 1) if cell.strip() and (i > len(header) or not header[i - 1]))
        rows.append(Row(number, {name: cell for name, cell in named.items() if cell}, next(stray, None)))
    return Sheet(tuple(rows), semicolons)


def _decoded(body: bytes) -> str:
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _unread("not-utf-8", "Save it as CSV UTF-8: the table is not in UTF-8.") from None
    if "\0" in text:
        raise _unread("control-character", "The table holds a NUL character: it is no text.")
    return text


def _unread(code: str, text: str) -> Refused:
    return Refused("invalid-csv", [Fault("", code, text)])


def _records(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each record that is not blank with its row.

    raises: Refused
    """
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for number, cells in enumerate(reader, 1):
            if any(map(str.strip, cells)):
                yield number, cells
    except csv.Error as error:
        text, params = (
            "The table cannot be read at line {line}: {why}.",
            (("line", float(reader.line_num)), ("why", str(error))),
        )
        raise Refused("invalid-csv", [Fault("", "malformed-table", text, params)]) from None


def _check_header(header: Sequence[str]) -> None:
    """Refuse a header that lacks a column, has one twice, or has one that there is not.

    raises: Refused ("invalid-request"), each fault at /1 and the column
    """
    faults = [_of_header(name, "missing-column", "Row 1, the header, lacks the column {column}.") for name in NEEDED
              if name not in header]  # fmt: skip
    columns = Counter(filter(None, header))
    unknown = [name for name in columns if name not in COLUMNS]
    faults += [_unknown(name, _nearest(name)) for name in unknown[:MOST_LIKENED]]
    faults += [_unknown(name) for name in unknown[MOST_LIKENED:]]
    faults += [
        _of_header(name, "duplicate-column", "Row 1, the header, has the column {column} twice.")
        for name, count in columns.items()
        if count > 1 and name in COLUMNS
    ]
    if faults:
        raise Refused("invalid-request", faults[:MOST_FAULTS])


def _nearest(name: str) -> str | None:
    """Return the column that a name is most like, None where it is like none."""
    near = get_close_matches(name[:LONGEST_NAMED].lower().replace(" ", "_"), COLUMNS, n=1)
    return near[0] if near else None


def _unknown(name: str, nearest: str | None = None) -> Fault:
    if nearest is None:
        text = "Row 1, the header, has a column {column}; no sheet has it. There are: {columns}."
        return _of_header(name, "unknown-column", text, columns=Names(COLUMNS))
    text = "Row 1, the header, has a column {column}; no sheet has it. The nearest is {nearest}."
    return _of_header(name, "unknown-column", text, nearest=nearest)


def _of_header(name: str, code: str, text: str, **more: str) -> Fault:
    shown = name[:LONGEST_NAMED]
    at = shown.replace("~", "~0").replace("/", "~1")
    return Fault(f"/1/{at}", code, text, (("column", shown), *more.items()))

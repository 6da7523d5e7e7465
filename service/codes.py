"""Every code that an answer or a problem may carry, with its text and parameters: a table beside this module."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

FIELDS = ("kind", "code", "severity", "params", "status", "text")
"""Columns of the table. params: name:kind, separated by spaces; status: sent, built (the source puts the code together)
or deprecated."""
SEVERITIES = ("", "info", "warning", "danger")
TABLE = files("service") / "codes.csv"


@dataclass(frozen=True)
class Code:
    """One code of one kind. text holds {names}, each of which is among the params.

    severity: the worst that it is sent with, empty where its kind has none
    also: other wordings that the same code has today
    params: name and kind of each; the kind is that of its quantity, number, or text, several with | between them
    """

    kind: str
    code: str
    severity: str
    text: str
    also: tuple[str, ...]
    params: tuple[tuple[str, str], ...]
    deprecated: bool


def rows() -> tuple[dict[str, str], ...]:
    """Return the rows of the table, one for each wording."""
    return tuple(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))


@cache
def codes() -> tuple[Code, ...]:
    """Return every code once for each kind of thing that carries it, in the order of the table."""
    found: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in rows():
        found.setdefault((row["kind"], row["code"]), []).append(row)
    return tuple(_code(wordings) for wordings in found.values())


def _code(wordings: list[dict[str, str]]) -> Code:
    first, *others = wordings
    params = dict(pair.split(":", 1) for row in wordings for pair in row["params"].split())
    also = tuple(row["text"] for row in others)
    deprecated = first["status"] == "deprecated"
    return Code(first["kind"], first["code"], first["severity"], first["text"], also, tuple(params.items()), deprecated)

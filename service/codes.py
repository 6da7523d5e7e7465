"""Every code that an answer or a problem may carry, with its text and parameters: a table beside this module."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated

from service.declared import WORDED, Declared, shape, text

FIELDS = ("kind", "code", "severity", "params", "status", "text")
"""Columns of the table. params: name:kind, separated by spaces; status: sent, or deprecated."""
SEVERITIES = ("", "info", "warning", "danger")
TABLE = files("service") / "codes.csv"
KINDS = """caution, assumption, finding, step, value (of a step; its text is the name), line (of records, its text is
the point; and of the label), advice, gain, sensitivity, judgement (of a calibration), difference, sentence (read out at
a site of a rollout), change (of a site from the version before), problem (of an error), detail (of a problem document;
its code is the type), offer (of a refusal), task (of an evening; most have the code of a step, and beside its params
vessels, how many it is for), basis (of the serves of an evening), bottleneck (of an evening) and relief (of that). A
finding may also carry the code of a caution or of a problem."""


@shape("CodeParamReference")
@dataclass(frozen=True)
class CodeParam:
    """A parameter of a sentence. kind: of its quantity, number, or text."""

    name: Annotated[str, text(60)]
    kind: Annotated[str, text(100)]


@shape("CodeReference")
@dataclass(frozen=True)
class Code:
    """A code, and the sentence that goes with it; {names} in the text are filled from the params.

    A brace that stands for itself is written twice.

    severity: the worst that it is sent with, None where its kind has none
    also, deprecated: None where there is nothing to tell
    """

    code: Annotated[str, text(60)]
    kind: Annotated[str, text(20), KINDS.replace("\n", " ")]
    severity: Annotated[str | None, text(20), "info, warning or danger, of cautions and findings."]
    params: Declared[tuple[CodeParam, ...]]
    also: Annotated[
        tuple[Annotated[str, WORDED, text(1000)], ...] | None, "Other wordings that are sent under the same code today."
    ]
    deprecated: Annotated[bool | None, "true: it is no longer sent."]
    text: Annotated[str, WORDED, text(1000)]


@dataclass(frozen=True)
class CodeReferences:
    """Every code, by kind and name."""

    items: Declared[tuple[Code, ...]]


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
    return Code(
        code=first["code"],
        kind=first["kind"],
        severity=first["severity"] or None,
        params=tuple(CodeParam(name, kind) for name, kind in params.items()),
        also=tuple(row["text"] for row in others) or None,
        deprecated=True if first["status"] == "deprecated" else None,
        text=first["text"],
    )

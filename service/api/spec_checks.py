"""POST /v1/spec-checks."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.api import problems
from service.api.answers import Answer
from service.api.endpoint import Body, Closed, Open, Operation, Request, rule
from service.api.quantities import Answered, QuantityField, Text, says, text
from service.api.shapes import (
    Envelope,
    Items,
    LoadedAlone,
    ScaleSchema,
    SentenceParameterSchema,
    SpecSchema,
    check_listed,
)
from service.limits.charging import MOST_ABV, STRONGEST_ABV, SWEETEST_G_PER_L
from service.limits.requests import MOST_FINDINGS, MOST_ITEMS, MOST_SPEC_LINES
from service.notes import Notes
from service.spec_check import Finding, Smallest, check, smallest_of

LINES = ("components", "acids")
"""What is counted as lines, wherever in a spec it stands."""
_SPEC = SpecSchema()
SEVERITIES: Body = {"type": "string", "enum": ["info", "warning", "danger"]}
BASES: Body = {
    "type": "string",
    "enum": ["published", "library", "common-practice", "estimate", "unverified", "default"],
}


class SpecCheckItemSchema(Closed):
    """A spec under a name of the caller's."""

    id = Text(longest=64, required=True)
    spec = LoadedAlone(SpecSchema, required=True)


class SpecChecksRequest(Request):
    """Specs before they go out, and the venue where the least of them is made."""

    items = Items(
        SpecCheckItemSchema,
        most=MOST_ITEMS,
        required=True,
        metadata=says(f"Ids differ; {' and '.join(LINES)} of all specs come to at most {MOST_SPEC_LINES} together."),
    )
    smallest_batch = QuantityField(
        "volume",
        low=20.0,
        above=None,
        high=1_000_000.0,
        attribute="smallest_batch_ml",
        metadata=says("Least that any venue makes at once; 0.8 l, one bottle of 1 l at its usual fill, unless stated."),
    )
    scale = fields.Nested(
        ScaleSchema,
        metadata=says("The coarsest that any venue has; whole grams unless stated. Its load is not judged."),
    )

    @rule
    def told_apart_and_bounded(self, sent: Mapping[str, Any]) -> None:
        check_listed(sent.get("items"), lines=LINES, most_lines=MOST_SPEC_LINES)


class FindingSchema(Open):
    """One thing to put right or to know."""

    code = text(100)
    severity = Answered(SEVERITIES)
    pointer = text(500, metadata=says("Into this request."))
    source = text(required=False)
    text = text()
    params = fields.List(fields.Nested(SentenceParameterSchema), required=True)
    basis = Answered(BASES)
    carbonate = Answered(
        {"type": "string", "enum": ["care", "no"]},
        required=False,
        metadata=says("What it makes of carbonating; absent where it is about something else."),
    )


class SpecCheckResultSchema(Open):
    """What was found in one spec, the gravest first."""

    id = text(64)
    carbonate = Answered(
        {"type": "string", "enum": ["yes", "care", "no"]},
        metadata=says("The worst that any finding makes of it: arithmetic, not approval."),
    )
    findings = fields.List(fields.Nested(FindingSchema), required=True)


class SpecChecksBody(Open):
    """One result for each spec, in the order of the request."""

    items = fields.List(fields.Nested(SpecCheckResultSchema), required=True)


class SpecChecksAnswer(Envelope, SpecChecksBody):
    """What was found in specs before they go out."""


def create_spec_check(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/spec-checks."""
    smallest = smallest_of(asked.get("smallest_batch_ml"), asked.get("scale"), notes)
    return {
        "items": [
            {"id": item["id"], **_checked(item["spec"], smallest, answer, notes, f"/items/{i}/spec")}
            for i, item in enumerate(asked["items"])
        ]
    }


def _checked(document: Any, smallest: Smallest, answer: Answer, notes: Notes, at: str) -> Body:
    try:
        spec: Any = _SPEC.load(document)
    except ValidationError as error:
        return {"carbonate": "no", "findings": list(_faults(problems.faults_of(error)[:MOST_FINDINGS], at))}
    found = check(spec, smallest, notes, at=at)
    return {"carbonate": found.carbonate, "findings": list(_findings(found.findings, answer))}


def _faults(faults: Iterable[Body], at: str) -> Iterator[Body]:
    """What cannot be read is not carbonated."""
    for fault in faults:
        yield {
            "code": fault["code"],
            "severity": "danger",
            "pointer": at + fault["pointer"],
            "text": fault["text"],
            "params": fault.get("params", []),
            "basis": "published",
            "source": "/openapi.json",
            "carbonate": "no",
        }


def _findings(findings: Iterable[Finding], answer: Answer) -> Iterator[Body]:
    for finding in findings:
        written = {
            "code": finding.code,
            "severity": finding.severity,
            "pointer": finding.pointer,
            "text": answer.sentence(finding.text, finding.params),
            "params": answer.params(finding.params.items()),
            "basis": finding.basis,
        }
        if finding.source:
            written["source"] = finding.source
        if finding.verdict != "yes":
            written["carbonate"] = finding.verdict
        yield written


OPERATIONS = (
    Operation(
        path="/v1/spec-checks",
        operation_id="createSpecCheck",
        tag="batching",
        summary="What to put right in specs before they go out.",
        description=f"Up to {MOST_ITEMS} specs, {MOST_SPEC_LINES} lines in all, each on its own: whether to carbonate "
        "it, and findings with code, severity, pointer, reason and basis. no: live cultures, what no liquid can be, "
        f"what cannot be read, and drinks over {MOST_ABV:g} %vol or where else the equations end. care: haze, pulp, "
        f"foam, little acid, over {STRONGEST_ABV:g} %vol or {SWEETEST_G_PER_L:g} g/l of sugar, and components of which "
        "nothing is stated. Beside these: data that numbers rest on, allergens, shelf life, and what weighing makes of "
        "acidity and strength in the smallest batch. What a spec leaves out is a finding and no assumption.",
        request=SpecChecksRequest(),
        answer=SpecChecksAnswer,
        view=create_spec_check,
    ),
)

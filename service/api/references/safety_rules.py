"""GET /v1/references/safety-rules."""

from dataclasses import asdict

from marshmallow import fields

from service.api.endpoint import Body, Open, Reference
from service.api.quantities import Answered, says, text
from service.api.references.based import basis
from service.safety_rules import SAFETY_RULES


class SafetyRuleReference(Open):
    """One rule of the night, to be read before the work begins."""

    code = text(60, metadata=says("Kebab case. New rules may come."))
    kind = text(
        20,
        metadata=says(
            "What it is about: whole, person, gas, cold, charging, opening, danger, heat, metal, cleaning, serving."
        ),
    )
    severity = Answered({"type": "string", "enum": ["info", "warning", "danger"]})
    basis = basis()
    source = text(300)
    short = text(60, metadata=says("A few words of it, for paper and for a display."))
    text = text(500)


class SafetyRuleReferencesAnswer(Open):
    """The rules of the night, in the order in which they are read out."""

    model = text(40)
    items = fields.List(fields.Nested(SafetyRuleReference), required=True)


def read() -> Body:
    """Return every rule."""
    return {"items": [asdict(rule) for rule in SAFETY_RULES]}


REFERENCE = Reference(
    path="/v1/references/safety-rules",
    operation_id="listSafetyRules",
    summary="What holds every night, whatever is charged.",
    description="Read once before the work begins; the cautions of an answer are about its request. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval.",
    answer=SafetyRuleReferencesAnswer,
    read=read,
)

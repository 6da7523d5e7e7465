"""The rules of the night, which hold for all work with gas under pressure, whatever is asked."""

from dataclasses import dataclass
from typing import Annotated

from service.declared import BASIS, KNOWN, WORDED, Declared, choice, shape, text
from service.science.tables import rows


@shape("SafetyRuleReference")
@dataclass(frozen=True)
class SafetyRule:
    """One rule of the night, to be read before the work begins."""

    code: Annotated[str, text(60), "Kebab case. New rules may come."]
    kind: Annotated[
        str,
        text(20),
        "What it is about: whole, person, gas, cold, charging, opening, danger, heat, metal, cleaning, serving.",
    ]
    severity: Annotated[str, choice(("info", "warning", "danger"))]
    basis: Annotated[str, BASIS, KNOWN]
    source: Annotated[str, WORDED, text(300)]
    short: Annotated[str, WORDED, text(100), "A few words of it, for paper and for a display."]
    text: Annotated[str, WORDED, text(500)]


@dataclass(frozen=True)
class SafetyRuleReferences:
    """The rules of the night, in the order in which they are read out."""

    items: Declared[tuple[SafetyRule, ...]]


SAFETY_RULES = tuple(SafetyRule(**row) for row in rows("safety_rules"))
"""In the order in which they are read out."""

"""The rules of the night: what holds for all work with gas under pressure, whatever is asked."""

from dataclasses import dataclass

from service.science.tables import rows


@dataclass(frozen=True)
class SafetyRule:
    """One rule, read out before the work begins.

    severity: info, warning or danger; short: a few words of it, for paper and for a display
    """

    code: str
    kind: str
    severity: str
    short: str
    text: str
    basis: str
    source: str


SAFETY_RULES = tuple(SafetyRule(**row) for row in rows("safety_rules"))
"""In the order in which they are read out."""

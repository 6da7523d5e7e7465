"""Findings to put right in a spec before it goes out to every venue, and whether to carbonate it at all."""

from service.spec_check.check import check
from service.spec_check.finding import Checked, Finding, SpecCheckResult, SpecChecks, findings_of_faults
from service.spec_check.smallest import Smallest, smallest_of

__all__ = [
    "Checked",
    "Finding",
    "Smallest",
    "SpecCheckResult",
    "SpecChecks",
    "check",
    "findings_of_faults",
    "smallest_of",
]

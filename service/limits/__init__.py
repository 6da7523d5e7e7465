"""Every default, limit and bound, each declared once; `LIMITS` lists them whole, in order."""

from service.limits import (
    acids,
    batches,
    charging,
    draught,
    evening,
    readings,
    requests,
    safety,
    serving,
    tables,
    vessels,
)
from service.limits.declared import KINDS, Kind, Limit

__all__ = ["KINDS", "LIMITS", "Kind", "Limit"]

LIMITS: tuple[Limit, ...] = tuple(
    row
    for subject in (vessels, charging, safety, serving, draught, evening, batches, acids, readings, requests, tables)
    for row in subject.declared.rows
)

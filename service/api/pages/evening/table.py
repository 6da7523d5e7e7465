"""An evening as a table: a row for each task, each thing to buy and each re-gas (RFC 4180)."""

import csv
from collections.abc import Iterator, Mapping
from io import StringIO
from typing import Any

from service.api.pages.evening.lines import Plan
from service.api.pages.paper import Paper
from service.api.pages.table import HEADERS as TABLE_HEADERS
from service.api.pages.table import cell

COLUMNS = (
    "section", "id", "drink", "station", "person", "regulator", "begins_at", "ends_at", "hands_on_s", "code", "what",
    "after", "amount", "to_buy", "unit", "packages", "outlay",
)  # fmt: skip
__all__ = ["TABLE_HEADERS", "table"]


def table(plan: Plan) -> str:
    """Return the table of a plan: heads and figures for programs, what is done in the language of the answer."""
    file = StringIO()
    writer = csv.writer(file)
    writer.writerow(COLUMNS)
    for row in _rows(plan):
        writer.writerow([cell(row.get(column, "")) for column in COLUMNS])
    return file.getvalue()


def _rows(plan: Plan) -> Iterator[Mapping[str, Any]]:
    body, paper = plan.body, Paper(plan.answer)
    for section in ("ahead", "timetable", "in_service"):
        for task in body[section]:
            same = {name: task[name] for name in COLUMNS if name in task}
            yield {**same, "section": section, "what": task["text"], "after": " ".join(task["depends_on"])}
    for line, bought in zip(body["shopping"], plan.found.shopping, strict=True):
        yield {
            "section": "shopping", "what": paper.show(bought.component), "amount": line["amount"]["value"],
            "to_buy": line["to_buy"]["value"], "unit": line["amount"]["unit"], "packages": line.get("packages", ""),
            "outlay": line.get("outlay", {}).get("amount", ""),
        }  # fmt: skip
    for call in body["regas"]:
        dial = call["gauge_pressure"]
        yield {
            "section": "regas", "drink": call["drink"], "begins_at": call["at"], "amount": dial["value"],
            "unit": dial["unit"], "what": paper.say("vessel {number}", number=float(call["vessel"])),
        }  # fmt: skip

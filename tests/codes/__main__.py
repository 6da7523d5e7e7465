"""Writes service/codes.csv anew: `python -m tests.codes`.

What is new comes in, a text that changed is replaced, and a code that is gone is marked deprecated. Of a text that is
not to be read from the source the row is begun with a question mark, to be completed by hand; tests/test_codes.py names
those.
"""

import csv
import re
from collections.abc import Iterator
from pathlib import Path

from service.codes import FIELDS, TABLE, rows
from tests.codes.source import Found, sent_by_source

UNKNOWN = "?"
"""Stands for a text that is not to be read from the source."""
PLACEHOLDER = re.compile(r"\{(\w+)\}")


def amended() -> list[dict[str, str]]:
    """The table as the source has it today: see the module."""
    before: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in rows():
        before.setdefault((row["kind"], row["code"]), []).append(row)
    now: dict[tuple[str, str], list[Found]] = {}
    for found in sent_by_source():
        now.setdefault((found.kind, found.code), []).append(found)
    known = {key: list(_rows(*key, found, before.get(key, []))) for key, found in now.items()}
    for (kind, code), found in now.items():
        fault = known.get(("problem", code))
        if kind == "caution" and fault and any(one.more for one in found):  # a danger told of a fault, with its params
            known[kind, code] = [row | {"params": fault[0]["params"]} for row in known[kind, code]]
    table = [row for rows_of in known.values() for row in rows_of]
    for key in before.keys() - now.keys():
        table += [row | {"status": "deprecated"} for row in before[key]]
    return sorted(table, key=lambda row: (row["kind"], row["code"]))


def _rows(kind: str, code: str, found: list[Found], before: list[dict[str, str]]) -> Iterator[dict[str, str]]:
    """Each wording of a code; those of before stay where not every one is to be read from the source."""
    kinds = {name: of for one in found for name, of in one.params.items()}
    known = dict(pair.split(":", 1) for row in before for pair in row["params"].split())
    kinds |= {name: of for name, of in known.items() if "|" in of or kinds.get(name, "text") == "text"}
    sent = {name for one in found for name in one.params} | (known.keys() if any(one.more for one in found) else set())
    wordings = {text: one.severity for one in found for text in one.texts or ()}
    if any(one.texts is None for one in found):
        wordings |= {row["text"]: row["severity"] for row in before}
    if not wordings:
        wordings = {UNKNOWN if any(one.texts is None for one in found) else "": found[0].severity}
    severities = [row["severity"] for row in before]
    for text, read in wordings.items():
        severity = read or (severities[0] if severities else "")
        names = sorted(sent | set(PLACEHOLDER.findall(text)))
        params = " ".join(f"{name}:{kinds.get(name, 'text')}" for name in names)
        yield {"kind": kind, "code": code, "severity": severity, "params": params, "status": "sent", "text": text}


def main() -> None:
    table = amended()
    with Path(str(TABLE)).open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, FIELDS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(table)


if __name__ == "__main__":
    main()

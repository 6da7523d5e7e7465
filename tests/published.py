"""Reads the reference tables in tests/data, so that a test can be parametrized with print."""

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def published(name: str, *columns: str, **where: str) -> list[tuple[float, ...]]:
    """The named columns as floats, one tuple a row; `where` keeps rows whose text in that column is equal."""
    with (DATA / name).open(encoding="utf-8") as file:
        table = csv.DictReader(line for line in file if not line.startswith("#"))
        kept = [row for row in table if all(row[key] == text for key, text in where.items())]
    if not kept:
        raise LookupError(f"{name} has no rows where {where}")
    return [tuple(float(row[column]) for column in columns) for row in kept]

"""Reads the CSV tables beside it, once, at import. Line 1 of each is a comment that cites the source."""

import csv
from importlib.resources import files


def rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of data/{name}.csv as dictionaries of text.

    name: file name without its ending
    raises: FileNotFoundError
    """
    text = (files("service.science") / "data" / f"{name}.csv").read_text(encoding="utf-8")
    citation, table = text.split("\n", 1)
    if not citation.startswith("# "):
        raise ValueError(f"{name}.csv does not cite a source on line 1")
    return tuple(csv.DictReader(table.splitlines()))

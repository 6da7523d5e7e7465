"""The works that equations, constants and tables cite."""

from dataclasses import dataclass

from service.science import tables


@dataclass(frozen=True)
class Source:
    """One work, as it is cited; doi and url are empty where none is known here."""

    key: str
    kind: str
    citation: str
    doi: str
    url: str


SOURCES = tuple(Source(**row) for row in tables.rows("sources"))

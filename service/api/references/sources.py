"""GET /v1/references/sources."""

from dataclasses import dataclass
from typing import Annotated

from service.api.endpoint import Reference
from service.declared import Declared, text
from service.science import tables
from service.science.sources import SOURCES


@dataclass(frozen=True)
class SourceReference:
    """One work, as it is cited here."""

    key: Annotated[str, text(60)]
    kind: Annotated[str, text(20), "paper, handbook, standard, law or data."]
    citation: Declared[str]
    doi: Annotated[str | None, text(200)]
    url: Annotated[str | None, text(500)]


@dataclass(frozen=True)
class CitedTable:
    """One data table of the service and what it rests on, by its own first line."""

    table: Annotated[str, text(60)]
    citation: Annotated[str, text(4000)]


@dataclass(frozen=True)
class SourceReferences:
    """Works, and the tables that rest on them."""

    items: Declared[tuple[SourceReference, ...]]
    tables: Declared[tuple[CitedTable, ...]]


def read() -> SourceReferences:
    """Return every work and every table."""
    works = (SourceReference(one.key, one.kind, one.citation, one.doi or None, one.url or None) for one in SOURCES)
    return SourceReferences(tuple(works), tuple(CitedTable(name, tables.citation(name)) for name in tables.names()))


REFERENCE = Reference(
    path="/v1/references/sources",
    operation_id="listSources",
    summary="The works that equations, constants and tables rest on.",
    description="Each as it is cited, with its DOI or address where there is one; and the data tables with their "
    "citation.",
    answer=SourceReferences,
    read=read,
)

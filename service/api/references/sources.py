"""GET /v1/references/sources."""

from dataclasses import asdict

from marshmallow import fields

from service.api.endpoint import Body, Open, Reference
from service.api.quantities import says, text
from service.science import tables
from service.science.sources import SOURCES


class SourceReference(Open):
    """One work, as it is cited here."""

    key = text(60)
    kind = text(20, metadata=says("paper, handbook, standard, law or data."))
    citation = text()
    doi = text(200, required=False)
    url = text(500, required=False)


class CitedTable(Open):
    """One data table of the service and what it rests on, by its own first line."""

    table = text(60)
    citation = text(4000)


class SourceReferencesAnswer(Open):
    """Works, and the tables that rest on them."""

    model = text(40)
    items = fields.List(fields.Nested(SourceReference), required=True)
    tables = fields.List(fields.Nested(CitedTable), required=True)


def read() -> Body:
    """Every work and every table."""
    works = [{name: value for name, value in asdict(source).items() if value} for source in SOURCES]
    return {"items": works, "tables": [{"table": name, "citation": tables.citation(name)} for name in tables.names()]}


REFERENCE = Reference(
    path="/v1/references/sources",
    operation_id="listSources",
    summary="The works that equations, constants and tables rest on.",
    description="Each as it is cited, with its DOI or address where there is one; and the data tables with their "
    "citation.",
    answer=SourceReferencesAnswer,
    read=read,
)

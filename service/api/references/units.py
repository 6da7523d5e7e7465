"""GET /v1/references/units."""

from collections.abc import Iterator

from marshmallow import fields

from service.api.endpoint import Body, Open, Reference
from service.api.quantities import flag, number, says, text
from service.api.quantities.components import ACIDS, BASE_UNITS
from service.api.references.based import basis
from service.science import acids
from service.science.units import SCALES, UNITS, to_base

BY_COMPOSITION = "g of sugar in 100 g of sugar and water; g/l by density, see the sources of the tables"


class UnitReference(Open):
    """One unit of one kind: base = factor x value + offset. Both are absent where it takes more than a line."""

    kind = text(20)
    unit = text(20)
    expressed_as = text(20, required=False, metadata=says("Of an acidity in g/l: as which acid."))
    base_unit = text(20)
    factor = number(required=False)
    offset = number(required=False)
    exact = flag()
    basis = basis()
    source = text()


class UnitReferencesAnswer(Open):
    """Units by kind."""

    model = text(40)
    items = fields.List(fields.Nested(UnitReference), required=True)


def read() -> Body:
    """Every unit that a request may use."""
    return {"items": [*_by_factor(), *_temperatures(), _brix(), *_acidities()]}


def _by_factor() -> Iterator[Body]:
    for kind, of in UNITS.items():
        for name, unit in of.items():
            yield {
                "kind": kind,
                "unit": name,
                "base_unit": BASE_UNITS[kind],
                "factor": unit.factor,
                "offset": 0.0,
                "exact": unit.exact,
                "basis": unit.basis,
                "source": unit.source,
            }


def _temperatures() -> Iterator[Body]:
    for unit, scale in SCALES.items():
        offset = to_base("temperature", 0.0, unit)
        yield {
            "kind": "temperature",
            "unit": unit,
            "base_unit": BASE_UNITS["temperature"],
            "factor": to_base("temperature", 1.0, unit) - offset,
            "offset": offset,
            "exact": True,
            "basis": scale.basis,
            "source": scale.source,
        }


def _brix() -> Body:
    return {"kind": "sugar", "unit": "brix", "base_unit": BASE_UNITS["sugar"], "exact": False, "basis": "published",
            "source": f"ICUMSA SPS-4; {BY_COMPOSITION}"}  # fmt: skip


def _acidities() -> Iterator[Body]:
    for acid in ACIDS:
        yield {
            "kind": "acidity",
            "unit": "g/l",
            "expressed_as": acid,
            "base_unit": BASE_UNITS["acidity"],
            "factor": acids.meq_per_l_of(1.0, acid),
            "offset": 0.0,
            "exact": False,
            "basis": "published",
            "source": "protons over molar mass; CIAAW abridged standard atomic weights 2021",
        }


REFERENCE = Reference(
    path="/v1/references/units",
    operation_id="listUnits",
    summary="The units of every kind, with their factors.",
    description="A value times the factor, plus the offset, is in the base unit of its kind. Ounces of volume are US "
    "fluid ounces unless they are called imperial.",
    answer=UnitReferencesAnswer,
    read=read,
)

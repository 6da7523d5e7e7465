"""GET /v1/references/units."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from service.api.endpoint import Reference
from service.api.quantities.components import ACIDS, BASE_UNITS
from service.declared import BASIS, EXACT, KNOWN, Declared, text
from service.science import acids
from service.science.units import SCALES, UNITS, to_base

BY_COMPOSITION = "g of sugar in 100 g of sugar and water; g/l by density, see the sources of the tables"


@dataclass(frozen=True, kw_only=True)
class UnitReference:
    """One unit of one kind: base = factor x value + offset. Both are absent where it takes more than a line."""

    kind: Annotated[str, text(20)]
    unit: Annotated[str, text(20)]
    expressed_as: Annotated[str | None, text(20), "Of an acidity in g/l: as which acid."] = None
    base_unit: Annotated[str, text(20)]
    factor: Annotated[float | None, EXACT] = None
    offset: Annotated[float | None, EXACT] = None
    exact: Declared[bool]
    basis: Annotated[str, BASIS, KNOWN]
    source: Declared[str]


@dataclass(frozen=True)
class UnitReferences:
    """Units by kind."""

    items: Declared[tuple[UnitReference, ...]]


def read() -> UnitReferences:
    """Return every unit that a request may use."""
    return UnitReferences((*_by_factor(), *_temperatures(), _brix(), *_acidities()))


def _by_factor() -> Iterator[UnitReference]:
    for kind, of in UNITS.items():
        for name, unit in of.items():
            yield UnitReference(
                kind=kind, unit=name, base_unit=BASE_UNITS[kind], factor=unit.factor, offset=0.0,
                exact=unit.exact, basis=unit.basis, source=unit.source,
            )  # fmt: skip


def _temperatures() -> Iterator[UnitReference]:
    for unit, scale in SCALES.items():
        offset = to_base("temperature", 0.0, unit)
        yield UnitReference(
            kind="temperature", unit=unit, base_unit=BASE_UNITS["temperature"],
            factor=to_base("temperature", 1.0, unit) - offset, offset=offset,
            exact=True, basis=scale.basis, source=scale.source,
        )  # fmt: skip


def _brix() -> UnitReference:
    return UnitReference(kind="sugar", unit="brix", base_unit=BASE_UNITS["sugar"], exact=False, basis="published",
                         source=f"ICUMSA SPS-4; {BY_COMPOSITION}")  # fmt: skip


def _acidities() -> Iterator[UnitReference]:
    for acid in ACIDS:
        yield UnitReference(
            kind="acidity", unit="g/l", expressed_as=acid, base_unit=BASE_UNITS["acidity"],
            factor=acids.meq_per_l_of(1.0, acid), offset=0.0, exact=False, basis="published",
            source="protons over molar mass; CIAAW abridged standard atomic weights 2021",
        )  # fmt: skip


REFERENCE = Reference(
    path="/v1/references/units",
    operation_id="listUnits",
    summary="The units of every kind, with their factors.",
    description="A value times the factor, plus the offset, is in the base unit of its kind. Ounces of volume are US "
    "fluid ounces unless they are called imperial.",
    answer=UnitReferences,
    read=read,
)

"""The references of the terms that answers are given in: units, sources, limits, safety rules and codes."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from service.api.answers import Answer
from service.api.endpoint import Reference
from service.api.quantities.answered import ACIDS, BASE_UNITS
from service.codes import CodeReferences, codes
from service.declared import BASIS, EXACT, KNOWN, WORDED, Declared, text
from service.limits import KINDS, LIMITS, Limit
from service.safety_rules import SAFETY_RULES, SafetyRuleReferences
from service.science import acids, tables
from service.science.tables import SOURCES
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
    source: Annotated[str, WORDED]


@dataclass(frozen=True)
class UnitReferences:
    """Units by kind."""

    items: Declared[tuple[UnitReference, ...]]


def _units() -> UnitReferences:
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


LIST_UNITS = Reference(
    path="/v1/references/units",
    operation_id="listUnits",
    summary="The units of every kind, with their factors.",
    description="A value times the factor, plus the offset, is in the base unit of its kind. Ounces of volume are US "
    "fluid ounces unless they are called imperial.",
    answer=UnitReferences,
    read=_units,
)


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


def _sources() -> SourceReferences:
    """Return every work and every table."""
    works = (SourceReference(one.key, one.kind, one.citation, one.doi or None, one.url or None) for one in SOURCES)
    return SourceReferences(tuple(works), tuple(CitedTable(name, tables.citation(name)) for name in tables.names()))


LIST_SOURCES = Reference(
    path="/v1/references/sources",
    operation_id="listSources",
    summary="The works that equations, constants and tables rest on.",
    description="Each as it is cited, with its DOI or address where there is one; and the data tables with their "
    "citation.",
    answer=SourceReferences,
    read=_sources,
)


METRIC = Answer("metric")


@dataclass(frozen=True)
class LimitReference:
    """A default, a limit or a bound."""

    limit: Annotated[str, text(100)]
    kind: Annotated[str, text(20), KINDS]
    meaning: Annotated[str, WORDED]
    value: Declared[float]
    unit: Annotated[str, text(20), "Of the value: a unit, share, count or bytes."]
    basis: Annotated[str, BASIS, KNOWN]
    source: Annotated[str, WORDED]


@dataclass(frozen=True)
class LimitReferences:
    """The defaults, warnings and refusals of the service."""

    items: Declared[tuple[LimitReference, ...]]


def _limits() -> LimitReferences:
    """Return every default and limit."""
    return LimitReferences(tuple(_limit(one) for one in LIMITS))


def _limit(one: Limit) -> LimitReference:
    known = one.unit in METRIC.units
    stated: dict[str, Any] = METRIC.q(one.unit, one.value) if known else {"value": float(one.value), "unit": one.unit}
    return LimitReference(one.limit, one.kind, one.meaning, stated["value"], stated["unit"], one.basis, one.source)


LIST_LIMITS = Reference(
    path="/v1/references/limits",
    operation_id="listLimits",
    summary="What is taken where a request is silent, and what is warned of or refused.",
    description="Defaults of the trade, limits of vessels, exposure limits, and the bounds of a request. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval.",
    answer=LimitReferences,
    read=_limits,
)


LIST_SAFETY_RULES = Reference(
    path="/v1/references/safety-rules",
    operation_id="listSafetyRules",
    summary="What holds every night, whatever is charged.",
    description="Read once before the work begins; the cautions of an answer are about its request. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval.",
    answer=SafetyRuleReferences,
    read=lambda: SafetyRuleReferences(SAFETY_RULES),
)


LIST_CODES = Reference(
    path="/v1/references/codes",
    operation_id="listCodes",
    summary="Every code that an answer or a problem may carry.",
    description="With the sentence that goes with it and its parameters, so that a client may write its own. Codes may "
    "be added; one that is no longer sent stays, marked as deprecated.",
    answer=CodeReferences,
    read=lambda: CodeReferences(codes()),
)

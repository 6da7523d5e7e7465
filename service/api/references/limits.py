"""GET /v1/references/limits: what `service.limits` declares."""

from dataclasses import dataclass
from typing import Annotated, Any

from service.api.answers import Answer
from service.api.endpoint import Reference
from service.declared import BASIS, KNOWN, Declared, text
from service.limits import KINDS, LIMITS, Limit

METRIC = Answer("metric")


@dataclass(frozen=True)
class LimitReference:
    """A default, a limit or a bound."""

    limit: Annotated[str, text(100)]
    kind: Annotated[str, text(20), KINDS]
    meaning: Declared[str]
    value: Declared[float]
    unit: Annotated[str, text(20), "Of the value: a unit, share, count or bytes."]
    basis: Annotated[str, BASIS, KNOWN]
    source: Declared[str]


@dataclass(frozen=True)
class LimitReferences:
    """What is taken, warned of and refused."""

    items: Declared[tuple[LimitReference, ...]]


def read() -> LimitReferences:
    """Return every default and limit."""
    return LimitReferences(tuple(_limit(one) for one in LIMITS))


def _limit(one: Limit) -> LimitReference:
    known = one.unit in METRIC.units
    stated: dict[str, Any] = METRIC.q(one.unit, one.value) if known else {"value": float(one.value), "unit": one.unit}
    return LimitReference(one.limit, one.kind, one.meaning, stated["value"], stated["unit"], one.basis, one.source)


REFERENCE = Reference(
    path="/v1/references/limits",
    operation_id="listLimits",
    summary="What is taken where a request is silent, and what is warned of or refused.",
    description="Defaults of the trade, limits of vessels, exposure limits, and the bounds of a request. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval.",
    answer=LimitReferences,
    read=read,
)

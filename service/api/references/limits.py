"""GET /v1/references/limits: what `service.limits` declares, then the limits of each preset and of each body."""

from collections.abc import Iterator

from marshmallow import fields

from service.api.answers import Answer
from service.api.endpoint import Body, Open, Reference
from service.api.quantities import number, says, text
from service.api.references.based import basis
from service.limits import KINDS, LIMITS, Limit
from service.science.exposure import EXPOSURE_LIMITS
from service.vessel import PRESETS

METRIC = Answer("metric")


def _presets() -> Iterator[Limit]:
    for name, preset in PRESETS.items():
        yield Limit(f"{name}-charge-limit", "vessel", "Gauge, on the regulator; the maker's rating prevails.",
                    preset.charge_limit_bar, "pressure", "estimate")  # fmt: skip
        yield Limit(f"{name}-closed-limit", "vessel", "Gauge, closed and warm; the maker's rating prevails.",
                    preset.closed_limit_bar, "pressure", "estimate")  # fmt: skip


def _exposures() -> Iterator[Limit]:
    for one in EXPOSURE_LIMITS:
        said = f"CO2 in the air by volume: {one.limit} of {one.body}, {one.averaging}."
        code = f"{one.body}-{one.limit}".lower().replace(" ", "-")
        yield Limit(code, "exposure", said, one.ppm, "ppm", one.basis, one.source)


class LimitReference(Open):
    """A default, a limit or a bound."""

    limit = text(100)
    kind = text(20, metadata=says(KINDS))
    meaning = text()
    value = number()
    unit = text(20, metadata=says("Of the value: a unit, share, count or bytes."))
    basis = basis()
    source = text()


class LimitReferencesAnswer(Open):
    """What is taken, warned of and refused."""

    model = text(40)
    items = fields.List(fields.Nested(LimitReference), required=True)


def read() -> Body:
    """Every default and limit."""
    return {"items": [_limit(one) for one in (*LIMITS, *_presets(), *_exposures())]}


def _limit(one: Limit) -> Body:
    known = one.unit in METRIC.units
    stated = METRIC.q(one.unit, one.value) if known else {"value": float(one.value), "unit": one.unit}
    return {
        "limit": one.limit,
        "kind": one.kind,
        "meaning": one.meaning,
        **stated,
        "basis": one.basis,
        "source": one.source,
    }


REFERENCE = Reference(
    path="/v1/references/limits",
    operation_id="listLimits",
    summary="What is taken where a request is silent, and what is warned of or refused.",
    description="Defaults of the trade, limits of vessels, exposure limits, and the bounds of a request. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval.",
    answer=LimitReferencesAnswer,
    read=read,
)

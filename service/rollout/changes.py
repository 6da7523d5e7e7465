"""The changes of a venue from the version before: dial, charges, measures, vessels, cost, allergens."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import isclose
from typing import Annotated

from service.batching import Allergens, Cost, Fill, Line, Made, amount_of
from service.declared import CODE, Params, Sentence, shape, text
from service.errors import Term
from service.limits.batches import SEEN
from service.limits.readings import DIFFERS_BAR
from service.money import Sum
from service.notes import listed
from service.rollout.in_vessel import InVessel
from service.science.units import Quantity

NONE = Term("none")


@shape("RolloutChange")
@dataclass(frozen=True)
class Change:
    """One thing that the venue does otherwise than in the version before. pointer: where the new version has it."""

    pointer: Annotated[str, text(500)]
    code: Annotated[str, CODE]
    text: Sentence
    params: Params = field(default_factory=dict)

    @property
    def before(self) -> Sentence:
        """The value of the version before."""
        return "{before}"

    @property
    def now(self) -> Sentence:
        """The value of this version."""
        return "{now}"


@dataclass(frozen=True)
class Version:
    """A venue under one version. fills, vessels: each kind of vessel, in the order of the request"""

    made: Made
    fills: Sequence[Fill]
    vessels: Sequence[InVessel]
    cost: Cost | None
    allergens: Allergens


def changes(before: Version, now: Version) -> Iterator[Change]:
    """Yield what changes at a venue by as much as it can be read; nothing where nothing does."""
    for i, (one, other) in enumerate(zip(before.vessels, now.vessels, strict=False)):
        yield from _in_vessel(one, other, f"/site/vessels/{i}")
    yield from _fills(before.fills, now.fills)
    if before.made.serves != now.made.serves:
        text = "Make {now} serves instead of {before}."
        counts = {"before": float(before.made.serves), "now": float(now.made.serves)}
        yield Change("/site/vessels", "serves-change", text, counts)
    yield from _measures(before.made, now.made)
    yield from _cost(before.cost, now.cost)
    if set(before.allergens.allergens) != set(now.allergens.allergens):
        params = {"before": _named(before.allergens.allergens), "now": _named(now.allergens.allergens)}
        yield Change("/spec", "allergens-change", "Allergens to declare: {now} instead of {before}.", params)


def _named(allergens: Sequence[str]) -> str:
    return listed([Term(one) for one in allergens]) if allergens else NONE


def _in_vessel(before: InVessel, now: InVessel, at: str) -> Iterator[Change]:
    """Yield what changes at the regulator; of another vessel its name is told with its fill."""
    vessel, plan, other = now.vessel.said, before.charging.planned, now.charging.planned
    dials = before.gauge_pressure_bar.typical, now.gauge_pressure_bar.typical
    if abs(dials[1] - dials[0]) >= DIFFERS_BAR:
        pressures = {"before": Quantity("pressure", dials[0]), "now": Quantity("pressure", dials[1])}
        text = "{vessel}: set {now} instead of {before}."
        yield Change(at, "dial-changes", text, {"vessel": vessel, **pressures})
    most = before.charging.never_over_bar_gauge, now.charging.never_over_bar_gauge
    if abs(most[1] - most[0]) >= DIFFERS_BAR:
        bounds = {"before": Quantity("pressure", most[0], "down"), "now": Quantity("pressure", most[1], "down")}
        text = "{vessel}: never over {now} instead of {before}."
        yield Change(at, "never-over-changes", text, {"vessel": vessel, **bounds})
    if plan.temperature_c != other.temperature_c:
        colds = {
            "before": Quantity("temperature", plan.temperature_c),
            "now": Quantity("temperature", other.temperature_c),
        }
        text = "{vessel}: charge it at {now} instead of {before}."
        yield Change(at, "temperature-changes", text, {"vessel": vessel, **colds})
    if plan.count != other.count:
        text = "{vessel}: charges {now} instead of {before}."
        counts = {"vessel": vessel, "before": float(plan.count), "now": float(other.count)}
        yield Change(at, "charges-change", text, counts)


def _fills(before: Sequence[Fill], now: Sequence[Fill]) -> Iterator[Change]:
    """Yield the kinds of vessels that are other ones, or as many others, or are filled otherwise."""
    for i in range(max(len(before), len(now))):
        old, new = before[i] if i < len(before) else None, now[i] if i < len(now) else None
        at = f"/site/vessels/{i}"
        if old is None or new is None or old.vessel != new.vessel:
            params = {"before": NONE if old is None else old.each.said, "now": NONE if new is None else new.each.said}
            yield Change(at, "vessel-changes", "Vessels: {now} instead of {before}.", params)
            continue
        if old.count != new.count:
            text = "{vessel}: {now} of them instead of {before}."
            counts = {"vessel": new.each.said, "before": float(old.count), "now": float(new.count)}
            yield Change(at, "vessel-count-changes", text, counts)
        if not isclose(old.liquid_ml, new.liquid_ml, rel_tol=SEEN):
            volumes = {"before": Quantity("volume", old.liquid_ml), "now": Quantity("volume", new.liquid_ml)}
            text = "{vessel}: fill each with {now} instead of {before}."
            yield Change(at, "fill-changes", text, {"vessel": new.each.said, **volumes})


def _measures(before: Made, now: Made) -> Iterator[Change]:
    """Yield the lines that come, that go, and that are measured otherwise."""
    old = {line.name: line for line in before.components}
    for i, line in enumerate(now.components):
        at, measure = f"/spec/components/{i}", _measure(line)
        known = old.pop(line.name, None)
        if known is None:
            text = "Add {component}: {now}, so far {before}."
            yield Change(at, "component-comes", text, {"component": line.name, "before": NONE, "now": measure})
            continue
        was = _measure(known)
        if was.kind != measure.kind or not isclose(was.value, measure.value, rel_tol=SEEN):
            text = "{component}: {now} instead of {before}."
            yield Change(at, "measure-changes", text, {"component": line.name, "before": was, "now": measure})
    for name, line in old.items():
        text = "Leave out {component}: {now}, so far {before}."
        was = _measure(line)
        yield Change("/spec/components", "component-goes", text, {"component": name, "before": was, "now": NONE})


def _measure(line: Line) -> Quantity:
    """Return the measure of a line; the exact amount of one under half a step."""
    found = line.measure or amount_of(line.whole)
    return Quantity("volume", found.value) if found.kind == "volume" else Quantity("mass", found.value)


def _cost(before: Cost | None, now: Cost | None) -> Iterator[Change]:
    if before is None or now is None or before.per_serve == now.per_serve:
        return
    params = {"before": Sum(before.per_serve), "now": Sum(now.per_serve)}
    yield Change("/site/prices", "cost-changes", "Cost of a serve: {now} instead of {before}.", params)

"""The lines of a batch: exact, by the jug, and in weighing order on the bar's scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, isclose

from service.drink import Portion
from service.errors import Fact, Fault, Nearest, Refused
from service.notes import Notes
from service.science.units import Kind, Quantity
from service.site import Scale

STEP_ML = 1.0
STEP_G = 1.0
"""Smallest step of a metric jug [ml] and of a kitchen scale [g]; common practice, no source."""
COARSE_PERCENT = 2.0
"""Drift that is worth a caution [%]; common practice, no source."""
SPIRIT_ABV = 15.0
"""Least strength of a spirit drink [%vol]; Regulation (EU) 2019/787, article 2."""
SMALL_SHARE = 0.05
"""A component under this share of the drink's mass is weighed on its own; common practice, no source."""


_NAMES_SHOWN = 5


@dataclass(frozen=True)
class Rounding:
    """Steps of practical measures; None where the request is silent. jug_ml: the step by volume then."""

    volume_ml: float | None = None
    mass_g: float | None = None
    jug_ml: float = STEP_ML


@dataclass(frozen=True)
class Line:
    """One component of the batch.

    glass, whole: what it brings to one glass and to all that is made
    measure: nearest step, by volume or mass as the spec writes it; None for less than half a step
    """

    glass: Portion
    whole: Portion
    measure: Quantity | None
    drift_percent: float | None

    @property
    def name(self) -> str:
        return self.glass.component.name

    @property
    def volume_ml(self) -> float:
        return self.whole.volume_ml

    @property
    def mass_g(self) -> float:
        return self.whole.masses.total_g


@dataclass(frozen=True)
class Share:
    """One reading of the scale, so many times."""

    times: int
    measure_g: float


@dataclass(frozen=True)
class Weighing:
    """One component on the scale; alone: into a cup of its own, not onto the rest."""

    component: str
    mass_g: float
    drift_percent: float
    alone: bool
    shares: tuple[Share, ...]


def listed(names: Sequence[str]) -> str:
    """Names for a sentence; the first few where there are many."""
    shown = ", ".join(names[:_NAMES_SHOWN])
    return shown if len(names) <= _NAMES_SHOWN else f"{shown} and {len(names) - _NAMES_SHOWN} more"


def in_kind(portion: Portion, kind: Kind) -> float:
    """A portion's volume [ml] or mass [g]."""
    return portion.volume_ml if kind == "volume" else portion.masses.total_g


def amount_of(portion: Portion) -> Quantity:
    """A portion by volume or by mass, whichever the spec writes."""
    kind = portion.component.amount.quantity.kind
    return Quantity(kind, in_kind(portion, kind))


def measured(glass: Sequence[Portion], glasses: float, rounding: Rounding | None, notes: Notes) -> tuple[Line, ...]:
    """Every component for so many glasses, with the practical measure nearest to it."""
    steps = _steps(glass, rounding, notes)
    lines = []
    for portion in glass:
        whole = portion.times(glasses)
        exact = amount_of(whole)
        taken = round(exact.value / steps[exact.kind]) * steps[exact.kind]
        measure = Quantity(exact.kind, taken) if taken else None
        lines.append(Line(portion, whole, measure, _drift_percent(taken, exact.value) if taken else None))
    _caution_measures(lines, notes)
    return tuple(lines)


def _drift_percent(taken: float, exact: float) -> float:
    """How far what is taken is from what is exact; the noise of binary fractions is no drift."""
    return 0.0 if isclose(taken, exact, rel_tol=1e-12) else 100.0 * (taken / exact - 1.0)


def _steps(glass: Sequence[Portion], rounding: Rounding | None, notes: Notes) -> dict[Kind, float]:
    given = rounding or Rounding()
    steps: dict[Kind, float] = {"volume": given.volume_ml or given.jug_ml, "mass": given.mass_g or STEP_G}
    kinds = {p.component.amount.quantity.kind for p in glass}
    if given.volume_ml is None and "volume" in kinds:
        step = Quantity("volume", given.jug_ml)
        notes.assume("step of measures by volume", step, "common-practice", at="/rounding/volume")
    if given.mass_g is None and "mass" in kinds:
        notes.assume("step of measures by mass", Quantity("mass", STEP_G), "common-practice", at="/rounding/mass")
    notes.assume("practical measures", "by volume or by mass, as the spec writes the component", "common-practice",
                 at="/spec/components")  # fmt: skip
    return steps


def _caution_measures(lines: Sequence[Line], notes: Notes) -> None:
    small = [line.name for line in lines if line.measure is None]
    if small:
        notes.caution("under-half-a-step", "warning",
                      "Less than half a step of the measure: {components}. Use a finer step, or make a larger batch.",
                      at="/rounding", components=listed(small))  # fmt: skip
    coarse = [
        line.name for line in lines if line.drift_percent is not None and abs(line.drift_percent) > COARSE_PERCENT
    ]
    if coarse:
        notes.caution("coarse-measure", "warning",
                      "The practical measure is over {percent} % off for: {components}. Weigh, or use a finer step.",
                      at="/rounding", percent=COARSE_PERCENT, components=listed(coarse))  # fmt: skip


def check_scale(scale: Scale | None) -> None:
    """A scale carries at least one of its own steps.

    raises: Refused ("impossible-batch")
    """
    if scale is None or scale.capacity_g is None or scale.capacity_g >= scale.resolution_g:
        return
    least = Quantity("mass", scale.resolution_g)
    text = "A scale that reads in steps of {least} carries at least as much."
    raise Refused("impossible-batch", [Fault("/scale/capacity", "under-resolution", text, (("least", least),))],
                  facts=[Fact("resolution", least)], nearest=[Nearest("/scale/capacity", least)])  # fmt: skip


def weighed(lines: Sequence[Line], scale: Scale | None, notes: Notes) -> tuple[Weighing, ...]:
    """The components in working order: water, acids into it, the bulky, small ones alone, spirit last.

    In this order a mistake costs least. Common practice, no source.
    """
    if scale is None:
        notes.assume("resolution of the scale for the batch", Quantity("mass", STEP_G), "common-practice", at="/scale")
        scale = Scale(STEP_G)
    whole_g = sum(line.mass_g for line in lines)
    ranked = sorted(lines, key=lambda line: (_rank(line, whole_g), -line.mass_g))
    found = tuple(_weighing(line, scale, alone=_rank(line, whole_g) == _SMALL) for line in ranked)
    coarse = [w.component for w in found if 50.0 * scale.resolution_g > COARSE_PERCENT * w.mass_g]
    if coarse:
        notes.caution("coarse-scale", "warning",
                      "Half a step of the scale is over {percent} % of: {components}. Use a finer one, or make more.",
                      at="/scale", percent=COARSE_PERCENT, components=listed(coarse))  # fmt: skip
    return found


_WATER, _ACID, _BULKY, _SMALL, _SPIRIT = range(5)


def _rank(line: Line, whole_g: float) -> int:
    """Place of a component in the working order."""
    portion = line.glass
    if portion.masses.water_g == portion.masses.total_g:
        return _WATER
    if portion.component.acid_solution is not None:
        return _ACID
    if line.mass_g < SMALL_SHARE * whole_g:
        return _SMALL
    return _SPIRIT if (portion.component.abv or 0.0) >= SPIRIT_ABV else _BULKY


def _weighing(line: Line, scale: Scale, *, alone: bool) -> Weighing:
    """Even shares that the scale can carry; they add up to the rounded mass."""
    steps = round(line.mass_g / scale.resolution_g)
    most = floor(scale.capacity_g / scale.resolution_g * (1.0 + 1e-9)) if scale.capacity_g is not None else steps
    count = -(-steps // most) if steps else 0
    each, more = divmod(steps, count) if count else (0, 0)
    shares = ((more, each + 1), (count - more, each))
    drift = _drift_percent(steps * scale.resolution_g, line.mass_g)
    return Weighing(line.name, line.mass_g, drift, alone,
                    tuple(Share(n, of * scale.resolution_g) for n, of in shares if n))  # fmt: skip

"""The lines of a batch: exact, and by the jug or jigger with the size at which whole steps distort the recipe least."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.drink import Portion
from service.limits.batches import COARSE_PERCENT, STEP_G, STEP_ML
from service.notes import Notes, listed
from service.science.rounding import drift_percent
from service.science.units import Kind, Quantity

SIZES_TRIED = 51
"""Sizes among which the batch's is chosen where it may vary; a bound of the service."""


@dataclass(frozen=True)
class Rounding:
    """Steps of practical measures; None where the request is silent. jug_ml: the step by volume then.

    vary_percent: how far the batch may leave the size asked for, so that whole steps distort the recipe least [%]
    """

    volume_ml: float | None = None
    mass_g: float | None = None
    jug_ml: float = STEP_ML
    vary_percent: float | None = None


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


def in_kind(portion: Portion, kind: Kind) -> float:
    """A portion's volume [ml] or mass [g]."""
    return portion.volume_ml if kind == "volume" else portion.masses.total_g


def amount_of(portion: Portion) -> Quantity:
    """A portion by volume or by mass, whichever the spec writes."""
    kind = portion.component.amount.quantity.kind
    return Quantity(kind, in_kind(portion, kind))


def measured(glass: Sequence[Portion], glasses: float, rounding: Rounding, notes: Notes) -> tuple[Line, ...]:
    """Every component for so many glasses, with the practical measure nearest to it."""
    steps = _assumed_steps(glass, rounding, notes)
    lines = []
    for portion in glass:
        whole, kind = portion.times(glasses), portion.component.amount.quantity.kind
        exact, step = in_kind(whole, kind), steps[kind]
        taken = round(exact / step) * step
        measure = Quantity(kind, taken) if taken else None
        lines.append(Line(portion, whole, measure, drift_percent(taken, exact) if taken else None))
    _caution_measures(lines, notes)
    return tuple(lines)


def rounded_best(glass: Sequence[Portion], glasses: float, rounding: Rounding, *, least: float, most: float) -> float:
    """The size, of SIZES_TRIED from least to most, at which no measure is far off, and so no ratio of two.

    d(k) = max |round(k x)/(k x) - 1|, x the steps of each component in one glass; (1 + d)/(1 - d) bounds their ratios

    least, most: that the batch may be [glasses]
    returns: k [glasses]; the size asked for where none is better
    """
    steps = _steps(rounding)
    in_steps = [x for a in map(amount_of, glass) if (x := a.value / steps[a.kind])]  # a denormal may come to nothing
    tried = (least + (most - least) * i / (SIZES_TRIED - 1) for i in range(SIZES_TRIED))
    best = min((glasses, *tried), key=lambda k: _farthest_off(in_steps, k))
    taken = [round(x * best) / x for x in in_steps] or [best]
    between = min(max((max(taken) + min(taken)) / 2.0, least), most)  # its measures may be those of a size nearby
    return min((best, between), key=lambda k: _farthest_off(in_steps, k))


def _farthest_off(in_steps: Sequence[float], glasses: float) -> float:
    return max([abs(round(x * glasses) / (x * glasses) - 1.0) for x in in_steps], default=0.0)


def _steps(rounding: Rounding) -> dict[Kind, float]:
    return {"volume": rounding.volume_ml or rounding.jug_ml, "mass": rounding.mass_g or STEP_G}


def _assumed_steps(glass: Sequence[Portion], rounding: Rounding, notes: Notes) -> dict[Kind, float]:
    kinds = {p.component.amount.quantity.kind for p in glass}
    if rounding.volume_ml is None and "volume" in kinds:
        step = Quantity("volume", rounding.jug_ml)
        notes.assume("step of measures by volume", step, "common-practice", at="/rounding/volume")
    if rounding.mass_g is None and "mass" in kinds:
        notes.assume("step of measures by mass", Quantity("mass", STEP_G), "common-practice", at="/rounding/mass")
    notes.assume("practical measures", "by volume or by mass, as the spec writes the component", "common-practice",
                 at="/spec/components")  # fmt: skip
    return _steps(rounding)


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

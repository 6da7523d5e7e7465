"""The lines of a batch: exact, and by the jug or jigger with the size at which whole steps distort the recipe least."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from service.declared import AMOUNT, MASS, VOLUME, Declared, mass, number, shape, text, volume
from service.drink import Portion
from service.limits.batches import COARSE_PERCENT, STEP_G, STEP_ML
from service.notes import Notes, listed
from service.science.rounding import drift_percent
from service.science.units import Kind, Quantity, UnitSystem, to_base

JUGS_ML: dict[UnitSystem, float] = {"metric": STEP_ML, "us": to_base("volume", 0.25, "oz")}
"""Units of the caller -> step by volume where none is stated; a US jigger's finest mark: common practice, no source."""
SIZES_TRIED = 51
"""Sizes among which the batch's is chosen where it may vary; a bound of the service."""


@dataclass(frozen=True)
class Rounding:
    """Steps of practical measures.

    jug_ml: the step by volume where none is stated
    """

    volume_ml: Annotated[
        float | None, volume(low=0.01, high=10_000.0), "1 ml unless stated; a quarter of an oz in US units."
    ] = None
    mass_g: Annotated[float | None, mass(low=0.001, high=10_000.0), "1 g unless stated."] = None
    batch_may_vary_percent: Annotated[
        float | None,
        number(low=0.0, high=20.0),
        "How far the batch may leave its size so that whole steps distort the recipe least: serves upwards, "
        "a volume, vessels or a stock downwards, and never by a serve.",
    ] = None
    jug_ml: float = STEP_ML


def by_jug_of(units: UnitSystem, rounding: Rounding | None) -> Rounding:
    """Return the steps asked for; where the request is silent, those of a jug in the caller's units."""
    return replace(rounding or Rounding(), jug_ml=JUGS_ML[units])


@shape("InnerComponentAnswer")
@dataclass(frozen=True)
class InnerLine:
    """The mix for a component that is made from a spec, all that stays behind included."""

    name: Annotated[str, text(200)]
    volume_ml: Annotated[float, VOLUME]
    mass_g: Annotated[float, MASS]
    start_from_g: Annotated[float | None, MASS]


@shape("BatchComponent")
@dataclass(frozen=True)
class Line(InnerLine):
    """One component of the batch; packages and what is left over where it has a price.

    start_from: where it has a yield; made_of: where it is made from a spec
    measure: nearest step, by volume or mass as the spec writes it; None for less than half a step
    glass, whole: its portion of one glass and of all that is made
    """

    measure: Annotated[Quantity | None, AMOUNT]
    drift_percent: Declared[float | None]
    made_of: Declared[tuple[InnerLine, ...] | None]
    glass: Portion
    whole: Portion
    packages: Declared[int | None] = None
    left_over: Annotated[Quantity | None, AMOUNT] = None


def _inner(part: Portion) -> InnerLine:
    return InnerLine(part.component.name, part.volume_ml, part.masses.total_g, _start_from_g(part))


def _start_from_g(part: Portion) -> float | None:
    return None if part.component.yield_percent is None else part.masses.total_g * part.started


def in_kind(portion: Portion, kind: Kind) -> float:
    """Return a portion's volume [ml] or mass [g]."""
    return portion.volume_ml if kind == "volume" else portion.masses.total_g


def amount_of(portion: Portion) -> Quantity:
    """Return a portion by volume or by mass, whichever the spec writes."""
    kind = portion.component.amount.quantity.kind
    return Quantity(kind, in_kind(portion, kind))


def measured(glass: Sequence[Portion], glasses: float, rounding: Rounding, notes: Notes) -> tuple[Line, ...]:
    """Return every component of a number of glasses, with the practical measure nearest to it."""
    steps = _assumed_steps(glass, rounding, notes)
    lines = tuple([_line(portion, portion.times(glasses), steps) for portion in glass])
    _caution_measures(lines, notes)
    return lines


def _line(glass: Portion, whole: Portion, steps: Mapping[Kind, float]) -> Line:
    kind = glass.component.amount.quantity.kind
    exact, step = in_kind(whole, kind), steps[kind]
    taken = round(exact / step) * step
    return Line(
        name=glass.component.name,
        volume_ml=whole.volume_ml,
        mass_g=whole.masses.total_g,
        start_from_g=_start_from_g(whole),
        measure=Quantity(kind, taken) if taken else None,
        drift_percent=drift_percent(taken, exact) if taken else None,
        made_of=tuple([_inner(part) for part in whole.made_of]) or None,
        glass=glass,
        whole=whole,
    )


def rounded_best(glass: Sequence[Portion], glasses: float, rounding: Rounding, *, least: float, most: float) -> float:
    """Return the size, of SIZES_TRIED from least to most, at which no measure is far off, and so no ratio of two.

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
                      "Use a finer step, or make a larger batch: {components} is under half a step of the measure.",
                      at="/rounding", components=listed(small))  # fmt: skip
    coarse = [
        line.name for line in lines if line.drift_percent is not None and abs(line.drift_percent) > COARSE_PERCENT
    ]
    if coarse:
        notes.caution("coarse-measure", "warning",
                      "Weigh these, or use a finer step: {components}. The practical measure is over {percent} % off.",
                      at="/rounding", percent=COARSE_PERCENT, components=listed(coarse))  # fmt: skip

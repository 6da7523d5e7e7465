"""The batch on the bar's scale: the order of weighing, the readings, and amounts that are too little for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, inf
from typing import Annotated

from service.batching.measures import Line
from service.declared import MASS, Declared, shape, text
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.batches import COARSE_PERCENT, JUG_SHARE, SMALL_SHARE, SPIRIT_ABV, STEP_G
from service.notes import Notes, listed
from service.science.rounding import drift_percent, two_digits_down
from service.science.units import Quantity
from service.site import Scale

_WATER, _ACID, _BULKY, _SMALL, _SPIRIT = range(5)


@shape("WeighingShare")
@dataclass(frozen=True)
class Share:
    """One reading of the scale, so many times."""

    times: Declared[int]
    measure_g: Annotated[float, MASS]


@dataclass(frozen=True)
class Weighing:
    """One component on the scale, in working order, the jug tared each time.

    alone: into a cup of its own; coarse: too little for the steps of this scale
    shares: at once where the scale bears it beside its jug, else full jugs of a round mass and a rest
    """

    component: Annotated[str, text(200)]
    mass_g: Annotated[float, MASS]
    drift_percent: Declared[float]
    alone: Declared[bool]
    coarse: Declared[bool]
    shares: Declared[tuple[Share, ...]]


def check_scale(scale: Scale | None) -> None:
    """Refuse a scale that does not carry one of its own steps beside the jug.

    raises: Refused ("impossible-batch")
    """
    if scale is None or _most_steps(scale) >= 1.0:
        return
    least_g = scale.resolution_g / (1.0 - JUG_SHARE) if scale.jug_g is None else scale.resolution_g + scale.jug_g
    least = Quantity("mass", least_g, "up")
    text = (
        "State what the scale carries again: one that reads in steps of {step} carries at least {least}, jug included."
    )
    params = (("step", Quantity("mass", scale.resolution_g)), ("least", least))
    raise Refused("impossible-batch", [Fault("/scale/capacity", "under-resolution", text, params)],
                  facts=[Fact("least_capacity", least)], nearest=[Nearest("/scale/capacity", least)])  # fmt: skip


def bears_at_once(scale: Scale, mass_g: float) -> bool:
    """Tell whether the scale bears a mass in its jug."""
    return mass_g <= _most_steps(scale) * scale.resolution_g


def weighed(lines: Sequence[Line], scale: Scale | None, notes: Notes) -> tuple[Weighing, ...]:
    """Return the components in working order: water, acids into it, the bulky, small ones alone, spirit last.

    In this order a mistake costs least. Common practice, no source.
    """
    if scale is None:
        notes.assume("resolution of the scale for the batch", Quantity("mass", STEP_G), "common-practice", at="/scale")
        scale = Scale(STEP_G)
    elif scale.capacity_g is not None and scale.jug_g is None:
        jug, source = Quantity("mass", _jug_g(scale)), "a tenth of what the scale bears; weigh yours"
        notes.assume("empty jug on the scale for the batch", jug, "common-practice", source, at="/scale/jug")
    masses_g = [line.mass_g for line in lines]
    small_g = SMALL_SHARE * sum(masses_g)
    ranked = sorted([(_rank(lines[i], g, small_g), -g, i) for i, g in enumerate(masses_g)])
    found = tuple([_weighing(lines[i].name, -g, scale, alone=rank == _SMALL) for rank, g, i in ranked])
    coarse = [w.component for w in found if w.coarse]
    if coarse:
        notes.caution("coarse-scale", "warning",
                      "Use a finer scale or a weaker stock solution, or make more: half a step of the scale is over "
                      "{percent} % of {components}.",
                      at="/scale", percent=COARSE_PERCENT, components=listed(coarse))  # fmt: skip
    return found


def _jug_g(scale: Scale) -> float:
    """Return the mass of the empty jug, as stated or as it is taken to be [g]."""
    return JUG_SHARE * (scale.capacity_g or 0.0) if scale.jug_g is None else scale.jug_g


def _most_steps(scale: Scale) -> float:
    """Return the steps that it carries beside the jug, with an allowance for binary fractions."""
    if scale.capacity_g is None:
        return inf
    return (scale.capacity_g * (1.0 + 1e-9) - _jug_g(scale)) / scale.resolution_g


def _full_jug(scale: Scale) -> int:
    """Return the steps of a jug that is filled again and again: as much as the scale bears, cut to two digits."""
    most_g = _most_steps(scale) * scale.resolution_g
    return max(1, floor(two_digits_down(most_g) / scale.resolution_g * (1.0 + 1e-9)))


def _rank(line: Line, mass_g: float, small_g: float) -> int:
    """Return the place of a component in the working order."""
    portion = line.glass
    if portion.masses.water_g == portion.masses.total_g:
        return _WATER
    if portion.component.acid_solution is not None:
        return _ACID
    if mass_g < small_g:
        return _SMALL
    return _SPIRIT if (portion.component.abv or 0.0) >= SPIRIT_ABV else _BULKY


def _weighing(component: str, mass_g: float, scale: Scale, *, alone: bool) -> Weighing:
    """Share out a mass: whole where the scale bears it, else in full jugs and a rest that add up to it, rounded."""
    step_g = scale.resolution_g
    steps = round(mass_g / step_g)
    each = steps if steps <= _most_steps(scale) else _full_jug(scale)
    full, rest = divmod(steps, each) if steps else (0, 0)
    shares = tuple([Share(times, of * step_g) for times, of in ((full, each), (1, rest)) if times * of])
    coarse = 50.0 * step_g > COARSE_PERCENT * mass_g
    return Weighing(component, mass_g, drift_percent(steps * step_g, mass_g), alone, coarse, shares)

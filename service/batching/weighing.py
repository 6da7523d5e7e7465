"""The batch on the bar's scale: the order of weighing, the readings, and how far rounding takes the drink."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, inf
from typing import Annotated

from service.batching.measures import Line
from service.declared import ACIDITY, MASS, PRESSURE, SUGAR, THREE_WAYS, Declared, shape, text
from service.drink import Drink
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.batches import COARSE_PERCENT, JUG_SHARE, SMALL_SHARE, SPIRIT_ABV, STEP_G
from service.limits.readings import DRIFT_C, DRIFT_CO2_G_PER_L
from service.notes import Notes, listed
from service.science import mixture
from service.science.gas import pressure_for_bar_abs
from service.science.rounding import drift_percent, two_digits_down
from service.science.units import Quantity
from service.science.validity import OutsideValidity
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


@shape("RoundingDrift")
@dataclass(frozen=True)
class Drift:
    """The drink as rounded less the drink as written.

    ratio_percent: how far the ratio of two components is off at most
    set_point_bar: of the gauge pressure that holds the CO2 level of the assumptions; None where the science ends
    """

    ratio_percent: Declared[float]
    abv: Declared[float]
    sugar_g_per_l: Annotated[float, SUGAR]
    titratable_acidity_meq_per_l: Annotated[float, ACIDITY, THREE_WAYS]
    set_point_bar: Annotated[float | None, PRESSURE]


@dataclass(frozen=True)
class BatchRounding:
    """The effect of rounding on the drink, by the practical measures and on the scale.

    factor: the batch over the size asked for; other than 1 only where it may vary so that whole steps fit
    by_measure, by_scale: None where what is left of a component is nothing
    """

    factor: Declared[float]
    by_measure: Declared[Drift | None]
    by_scale: Declared[Drift | None]


def rounding_of(
    lines: Sequence[Line], weighing: Sequence[Weighing], drink: Drink, factor: float, notes: Notes
) -> BatchRounding:
    """Return the drift of the drink by its practical measures, and by the scale.

    factor: the batch over the size asked for
    """
    where = "at rest under the dial, without air; other levels and temperatures shift much the same"
    notes.assume("CO2 level that the drift of the set-point is for", Quantity("co2", DRIFT_CO2_G_PER_L),
                 "common-practice", where)  # fmt: skip
    notes.assume("temperature that the drift of the set-point is for", Quantity("temperature", DRIFT_C),
                 "common-practice")  # fmt: skip
    on_scale = {w.component: 1.0 + w.drift_percent / 100.0 for w in weighing}
    dial = _dial_bar(drink)
    by_measure = [0.0 if line.drift_percent is None else 1.0 + line.drift_percent / 100.0 for line in lines]
    by_scale = [on_scale[line.name] for line in lines]
    return BatchRounding(factor, _drift(lines, by_measure, drink, dial), _drift(lines, by_scale, drink, dial))


def _drift(lines: Sequence[Line], taken: Sequence[float], drink: Drink, dial_bar: float | None) -> Drift | None:
    """Return the drift of a drink. taken: of each line, as a share of its exact amount"""
    if not min(taken):
        return None
    masses = mixture.together([(line.whole.masses, share) for line, share in zip(lines, taken, strict=True)])
    rounded = Drink(masses, sum([line.whole.acid_meq * share for line, share in zip(lines, taken, strict=True)]))
    rounded_dial = _dial_bar(rounded)
    return Drift(
        ratio_percent=100.0 * (max(taken) / min(taken) - 1.0),
        abv=rounded.abv - drink.abv,
        sugar_g_per_l=rounded.sugar_g_per_l - drink.sugar_g_per_l,
        titratable_acidity_meq_per_l=rounded.acid_meq_per_l - drink.acid_meq_per_l,
        set_point_bar=None if dial_bar is None or rounded_dial is None else rounded_dial - dial_bar,
    )


def _dial_bar(drink: Drink) -> float | None:
    """Return the dial of a drink; None for one too strong or too sweet for the equations of CO2, which is made too."""
    try:
        return pressure_for_bar_abs(drink.absorbs_co2(DRIFT_C), co2_g_per_l=DRIFT_CO2_G_PER_L)
    except OutsideValidity:
        return None

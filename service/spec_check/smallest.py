"""The drift of the drink by weighing where the least of it is made."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.drink import Drink, Portion
from service.limits.batches import COARSE_PERCENT, STEP_G, STRENGTH_TOLERANCE
from service.limits.vessels import DEFAULT_FILL
from service.notes import Basis, Notes, Value
from service.science.mixture.density import ETHANOL_20C_G_PER_ML
from service.science.units import Quantity
from service.site import Scale
from service.spec_check.finding import Finding
from service.vessel import PRESETS

BOTTLE = "pet-1-l"
TRACE = 1000.0
"""Largest share that half a step of the scale counts for of the mass that is weighed; a bound of the service."""


@dataclass(frozen=True)
class Smallest:
    """The least that any venue makes at once, and the scale it has."""

    batch_ml: float
    step_g: float


def smallest_of(batch_ml: float | None, scale: Scale | None, notes: Notes) -> Smallest:
    """Return the smallest venue, its gaps filled: one bottle of a litre at its usual fill, a scale of whole grams."""
    if batch_ml is None:
        batch_ml = DEFAULT_FILL * PRESETS[BOTTLE].capacity_ml
        what = Quantity("volume", batch_ml)
        notes.assume("smallest batch", what, "common-practice", "one bottle of 1 l", at="/smallest_batch")
    if scale is None:
        step = Quantity("mass", STEP_G)
        notes.assume("resolution of the scale", step, "common-practice", at="/scale")
    return Smallest(batch_ml, scale.resolution_g if scale is not None else STEP_G)


@dataclass(frozen=True)
class _Weighed:
    """One component of the smallest batch, half a step of the scale off.

    half_step: over its mass
    acidity, strength: what all of it less or more changes of the drink [%, %vol]
    """

    at: str
    name: str
    half_step: float
    acidity: float
    strength: float


def rounding(glass: Sequence[Portion], drink: Drink, smallest: Smallest, at: str) -> Iterator[Finding]:
    """Yield the drift of acidity and strength on a scale that is half a step off everywhere, each way that is worst.

    To first order in the step, contraction left out: dT/T = e (t/T - v/V), dA = e (a - A) v/V

    at: JSON Pointer of the spec
    """
    shown: dict[str, Value] = {
        "step": Quantity("mass", smallest.step_g),
        "batch": Quantity("volume", smallest.batch_ml),
    }
    parts = [_weighed(part, drink, smallest, f"{at}/components/{i}/amount") for i, part in enumerate(glass)]
    for part in parts:
        yield from _coarse(part, shown)
    for kind in (_ACIDITY, _STRENGTH):
        yield from _drift(kind, parts, smallest, shown)


def _weighed(part: Portion, drink: Drink, smallest: Smallest, at: str) -> _Weighed:
    mass_g = part.masses.total_g * smallest.batch_ml / drink.volume_ml
    half_g = 0.5 * smallest.step_g
    share = part.volume_ml / drink.volume_ml
    ethanol_ml = part.masses.ethanol_g / ETHANOL_20C_G_PER_ML
    return _Weighed(
        at,
        part.component.name,
        half_step=half_g / mass_g if mass_g * TRACE > half_g else TRACE,
        acidity=100.0 * (part.acid_meq / drink.acid_meq - share) if drink.acid_meq else 0.0,
        strength=100.0 * ethanol_ml / drink.volume_ml - drink.abv * share if drink.masses.ethanol_g else 0.0,
    )


def _coarse(part: _Weighed, shown: Mapping[str, Value]) -> Iterator[Finding]:
    if part.half_step > 1.0:
        text = "Measure {component} by volume, or make more: in {batch} it is under half a step of {step}."
        yield Finding(
            "under-half-a-step", "warning", part.at, text, "common-practice", {"component": part.name, **shown}
        )
    elif 100.0 * part.half_step > COARSE_PERCENT:
        text = "Weigh {component} finer, or measure it: in {batch} half a step of {step} is {percent} % of it."
        params = {"component": part.name, "percent": round(100.0 * part.half_step, 1), **shown}
        yield Finding("coarse-scale", "info", part.at, text, "common-practice", params)


_ROUNDING = {
    "rounding-acidity": (
        "Use a finer scale, or make {least} or more at once: in {batch}, weighed in steps of {step}, the acidity may "
        "be {drift} % off, where {most} % is noticed. Most of it is by {component}."
    ),
    "rounding-strength": (
        "Use a finer scale, or make {least} or more at once: in {batch}, weighed in steps of {step}, the strength may "
        "be {drift} %vol off, where a label allows {most}. Most of it is by {component}."
    ),
}
"""Sentences about a value that drifts, by code."""


@dataclass(frozen=True)
class _Kind:
    """A value that drifts, and how far it may."""

    code: str
    most: float
    of: Callable[[_Weighed], float]
    basis: Basis
    source: str | None


_ACIDITY = _Kind(
    "rounding-acidity", COARSE_PERCENT, lambda part: part.acidity, "common-practice", None,
)  # fmt: skip
_STRENGTH = _Kind(
    "rounding-strength", STRENGTH_TOLERANCE, lambda part: part.strength, "published",
    "Regulation (EU) No 1169/2011, Annex XII",
)  # fmt: skip


def _drift(kind: _Kind, parts: Sequence[_Weighed], smallest: Smallest, shown: Mapping[str, Value]) -> Iterator[Finding]:
    """Yield the drift where it is too much; the batch that is offered counts every half step in full."""
    each = [abs(part.half_step * kind.of(part)) for part in parts]
    drift = sum(abs(min(1.0, part.half_step) * kind.of(part)) for part in parts)
    if drift <= kind.most:
        return
    worst = parts[max(range(len(parts)), key=each.__getitem__)]
    least = Quantity("volume", smallest.batch_ml * sum(each) / kind.most, "up")
    params = {"component": worst.name, "drift": float(f"{drift:.3g}"), "most": kind.most, "least": least, **shown}
    yield Finding(kind.code, "warning", worst.at, _ROUNDING[kind.code], kind.basis, params, kind.source)

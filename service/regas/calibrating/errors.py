"""Uncertainty of the constant: the readings' own scatter, and the errors that all of them share."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import reduce
from math import fsum, hypot, sqrt

from service.calibration import REACH_OF_90_PERCENT
from service.limits.readings import GAUGE_STEP_BAR, POUR_ERROR
from service.limits.safety import FILL_ERROR, GAUGE_ERROR_BAR, THERMOMETER_ERROR_C
from service.regas.calibrating.asked import Kind, Reading
from service.regas.calibrating.bench import Bench, Compared, compared
from service.safety import cold_c
from service.science.least_squares import Fit, student_over_normal
from service.science.vessel import foam_loss

EVEN = sqrt(12.0)
"""Width over standard deviation of an even distribution: what rounding to a step does; JCGM 100:2008, 4.3.7."""


@dataclass(frozen=True)
class Uncertainty:
    """Uncertainty of a fitted constant, as standard deviations in its unit, by cause; the causes are independent.

    scatter_based: the readings scatter more than the instruments explain, and so tell the error themselves
    """

    causes: dict[str, float]
    scatter_based: bool
    reading_error: float

    @property
    def standard_error(self) -> float:
        """Root of the squares; JCGM 100:2008 (GUM) section 5.1."""
        return reduce(hypot, self.causes.values(), 0.0)

    @property
    def largest(self) -> str:
        return max(self.causes, key=lambda cause: self.causes[cause])


def uncertainty(kind: Kind, bench: Bench, seen: Compared, fit: Fit, *, scale_step_g: float) -> Uncertainty:
    """Return that of the fit: by the scatter, at least that of the instruments, and by the errors that all share.

    The scatter of a few readings is itself badly known: it counts as much more as Student's distribution is wider than
    the normal one, so that 1.645 standard errors hold 90 %.
    """
    least = reading_error(kind, bench, seen, fit.value, scale_step_g=scale_step_g)
    scatter = fit.scatter * student_over_normal(len(fit.residuals) - 1)
    causes = {"readings": fit.standard_error(max(least, scatter))}
    for cause, other in shared(kind, bench, scale_step_g=scale_step_g):
        causes[cause] = abs(fit.shift(compared(kind, other).residuals(fit.value)))
    if kind == "solubility":
        causes["warmth"] = fit.value * _colder(bench)
    return Uncertainty(causes, scatter > least, least)


def reading_error(kind: Kind, bench: Bench, seen: Compared, value: float, *, scale_step_g: float) -> float:
    """Return the standard deviation that reading to steps of gauge and scale brings into each value, in its unit."""
    steps = GAUGE_STEP_BAR / EVEN
    first = 0 if len(seen.readings) == len(bench.readings) else 1
    other = compared(kind, _gauges(bench, steps, slice(first, None)))
    by_gauge = [a - b for a, b in zip(other.residuals(value), seen.residuals(value), strict=True)]
    weighings = 0 if seen.kind == "pressure" else 1 if _one_start(bench) else 2
    return hypot(sqrt(fsum(d * d for d in by_gauge) / len(by_gauge)), sqrt(weighings) * scale_step_g / EVEN)


def shared(kind: Kind, bench: Bench, *, scale_step_g: float) -> Iterator[tuple[str, Bench]]:
    """Yield the bench with each error that all readings share off by one standard deviation."""
    setting, liquid = bench.setting, bench.liquid
    fill = setting.fill + FILL_ERROR / REACH_OF_90_PERCENT
    yield "fill", replace(bench, setting=replace(setting, fill=fill))
    warmer = liquid.temperature_c + THERMOMETER_ERROR_C / REACH_OF_90_PERCENT
    yield "thermometer", replace(bench, liquid=liquid.at(warmer))
    yield "gauge", _gauges(bench, GAUGE_ERROR_BAR / REACH_OF_90_PERCENT, slice(None))
    if kind in ("loss", "pour") or (kind == "uptake" and not bench.is_weighed):
        yield "start", _gauges(bench, GAUGE_STEP_BAR / EVEN, slice(1))
    if any(reading.is_weighed for reading in bench.readings) and _one_start(bench):
        weighings = 1 if bench.is_weighed else 2  # where only the start was weighed, both of it stand in every reading
        error_g = sqrt(weighings) * scale_step_g / EVEN
        yield "scale", replace(bench, readings=tuple(_weighed(r, error_g) for r in bench.readings))
    if kind != "solubility":
        yield "solubility", replace(bench, liquid=liquid.scaled(1.0 + liquid.spread / REACH_OF_90_PERCENT))
    if kind == "pour":
        yield "volume", replace(bench, poured_l=bench.poured_l * (1.0 + POUR_ERROR / REACH_OF_90_PERCENT))
    if kind in ("loss", "pour"):
        foam = foam_loss()
        yield "foam", replace(bench, foam_share=bench.foam_share + (foam.high - foam.low) / 2.0 / REACH_OF_90_PERCENT)


def _one_start(bench: Bench) -> bool:
    """Tell whether all later weighings are held against one first weighing, whose error they share."""
    return len({r.mass_before_g for r in bench.readings if r.is_weighed}) == 1


def _gauges(bench: Bench, more_bar: float, which: slice) -> Bench:
    moved = list(bench.readings)
    moved[which] = [
        replace(r, gauge_pressure_bar=r.gauge_pressure_bar and r.gauge_pressure_bar + more_bar) for r in moved[which]
    ]
    return replace(bench, readings=tuple(moved))


def _weighed(reading: Reading, more_g: float) -> Reading:
    before_g = reading.mass_before_g
    return reading if before_g is None else replace(reading, mass_before_g=before_g + more_g)


def _colder(bench: Bench) -> float:
    """Return how much less a solubility read warm says of a cold drink, as a relative standard deviation.

    The reverse of what `service.science.gas.solubility_spread` adds to a reading made cold.
    """
    here = bench.liquid.spread
    cold = min(here, cold_spread(bench))
    return sqrt(here * here - cold * cold) / REACH_OF_90_PERCENT


def cold_spread(bench: Bench) -> float:
    """Return how well the model knows the drink as cold as it is charged, relative half-width, about 90 %."""
    return bench.liquid.at(cold_c(bench.setting.drink)).spread

"""One constant fitted to readings by least squares, and how well the readings tell it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, fsum, inf, log, sqrt

Residuals = Callable[[float], Sequence[float]]
"""Measured less computed by a value of the constant, a number for each reading."""

_ROUNDS = 60
_STARTS = 13
_STEP = 1e-4  # in the logarithm of the constant, for slopes
_CLOSE = 1e-10


@dataclass(frozen=True)
class Fit:
    """The value that the readings agree with best.

    residuals: measured less fitted; slopes: of what is fitted, by the constant
    """

    value: float
    residuals: tuple[float, ...]
    slopes: tuple[float, ...]

    @property
    def steepness(self) -> float:
        """Root of the sum of the squared slopes; 0 where no reading depends on the constant."""
        return sqrt(fsum(slope * slope for slope in self.slopes))

    @property
    def scatter(self) -> float:
        """Standard deviation of a reading about the fit: sqrt(sum r^2 / (n - 1)).

        source: JCGM 100:2008 (GUM), annex H.3, for one constant
        """
        return sqrt(fsum(r * r for r in self.residuals) / (len(self.residuals) - 1))

    def standard_error(self, reading_error: float) -> float:
        """Standard error of the value, from the standard deviation of a reading: s / sqrt(sum J^2).

        source: JCGM 100:2008 (GUM), annex H.3, for one constant
        """
        return reading_error / self.steepness if self.steepness > 0.0 else inf

    def shift(self, residuals: Sequence[float]) -> float:
        """Return how far the value moves where the readings, or what is known beside them, give these residuals at it.

        sum J (r' - r) / sum J^2, to first order
        """
        if not self.steepness > 0.0:
            return inf
        moved = zip(self.slopes, residuals, self.residuals, strict=True)
        return fsum(slope * (new - old) for slope, new, old in moved) / self.steepness**2


def fit_constant(residuals: Residuals, *, low: float, high: float) -> Fit:
    """Find the value between low and high, both over 0, that leaves the least sum of squared residuals.

    Gauss-Newton in the logarithm of the value, from the best of a few starts, halving a step that does not help. A
    value at low or high says that there is no least between them.

    source: Bjorck 1996, Numerical Methods for Least Squares Problems, section 9.2, doi:10.1137/1.9781611971484
    """
    first, last = log(low), log(high)
    at = min((first + (last - first) * i / (_STARTS - 1) for i in range(_STARTS)), key=lambda x: _squares(residuals, x))
    for _ in range(_ROUNDS):
        slopes, here = _slopes(residuals, at), residuals(exp(at))
        steep = fsum(slope * slope for slope in slopes)
        if not steep > 0.0:
            break
        step = fsum(slope * r for slope, r in zip(slopes, here, strict=True)) / steep
        new = _helping(residuals, at, max(-1.0, min(1.0, step)), first, last)
        if abs(new - at) <= _CLOSE:
            break
        at = new
    value = exp(at)
    return Fit(value, tuple(residuals(value)), tuple(slope / value for slope in _slopes(residuals, at)))


def _helping(residuals: Residuals, at: float, step: float, first: float, last: float) -> float:
    """Return the end of the step, or of the first of its halves that lowers the sum; where none does, its start."""
    before = _squares(residuals, at)
    while abs(step) > _CLOSE:
        new = max(first, min(last, at + step))
        if _squares(residuals, new) < before:
            return new
        step /= 2.0
    return at


def _squares(residuals: Residuals, at: float) -> float:
    return fsum(r * r for r in residuals(exp(at)))


def _slopes(residuals: Residuals, at: float) -> list[float]:
    """Return the slopes of what is fitted, by the logarithm of the constant."""
    below, above = residuals(exp(at - _STEP)), residuals(exp(at + _STEP))
    return [(b - a) / (2.0 * _STEP) for b, a in zip(below, above, strict=True)]


def student_over_normal(degrees: int) -> float:
    """Return how much wider a 90 % interval is where the scatter is itself known from a few readings only.

    t(0.95, n) / 1.6449, by the expansion in 1/n; 0.3 % short at 2, less from there

    degrees: of freedom, 2 up
    raises: ValueError below
    source: Abramowitz & Stegun 1964, equation 26.7.5
    """
    if not degrees >= 2:
        raise ValueError(f"no scatter from {degrees} degrees of freedom")
    z, n = 1.6448536269514722, float(degrees)
    g1 = (z**3 + z) / 4.0
    g2 = (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0
    g3 = (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0
    g4 = (79.0 * z**9 + 776.0 * z**7 + 1482.0 * z**5 - 1920.0 * z**3 - 945.0 * z) / 92160.0
    return (z + g1 / n + g2 / n**2 + g3 / n**3 + g4 / n**4) / z

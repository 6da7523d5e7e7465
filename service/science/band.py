"""A low / typical / high triple, about 90 % wide, and the one rule for combining several."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True)
class Band:
    """An estimate: low <= typical <= high, meant to hold the truth about nine times in ten."""

    low: float
    typical: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.typical <= self.high:
            raise ValueError(f"band out of order: {self.low}, {self.typical}, {self.high}")

    def map(self, f: Callable[[float], float]) -> "Band":
        """The band of a monotonic function of this quantity."""
        a, b = f(self.low), f(self.high)
        return Band(min(a, b), f(self.typical), max(a, b))


def total(bands: Iterable[Band]) -> Band:
    """Return the sum of bands that err together: low with low, high with high."""
    each = list(bands)
    return Band(
        sum((one.low for one in each), 0.0),
        sum((one.typical for one in each), 0.0),
        sum((one.high for one in each), 0.0),
    )


def combine(typical: float, ends: Iterable[tuple[float, float]]) -> Band:
    """The band from independent causes: root of the squares of each cause's own reach, either side.

    typical: answer with every input at its typical value
    ends: for each cause, the two answers with that cause alone at its low and at its high end
    source: propagation of independent uncertainties, JCGM 100:2008 (GUM) section 5.1
    """
    down = up = 0.0
    for one, other in ends:
        low, high = (one, other) if one < other else (other, one)
        down += (typical - low) ** 2 if low < typical else 0.0
        up += (high - typical) ** 2 if high > typical else 0.0
    return Band(typical - sqrt(down), typical, typical + sqrt(up))

"""A liquid as what adds up, volume growth included, and how much of an addition brings it to an acidity."""

from dataclasses import dataclass

from service.science import mixture
from service.science.mixture import Masses

MOST_TIMES = 100.0
"""Grams added to a gram of liquid, at most; common practice, no source: beyond, the liquid is the addition."""
_ROUNDS = 100


@dataclass(frozen=True)
class Content:
    """A liquid, or what is added to one; every part adds up.

    masses: ethanol, water, sugar, and the acid that is known by its titration alone
    meq: titratable acid, below zero for what neutralises it
    solutes_g, solutes_ml: acids known by name, and salts: mass and apparent volume in water at 20 degC
    """

    masses: Masses
    meq: float = 0.0
    solutes_g: float = 0.0
    solutes_ml: float = 0.0

    def __add__(self, other: "Content") -> "Content":
        return Content(
            self.masses + other.masses,
            self.meq + other.meq,
            self.solutes_g + other.solutes_g,
            self.solutes_ml + other.solutes_ml,
        )

    def scaled(self, k: float) -> "Content":
        return Content(self.masses.scaled(k), self.meq * k, self.solutes_g * k, self.solutes_ml * k)

    @property
    def mass_g(self) -> float:
        return self.masses.total_g + self.solutes_g

    @property
    def volume_ml(self) -> float:
        """At 20 degC, by Young's rule: see `mixture.volume_ml`; apparent volumes hold to 20 % w/w of acid."""
        return mixture.volume_ml(self.masses) + self.solutes_ml

    @property
    def meq_per_l(self) -> float:
        return 1000.0 * self.meq / self.volume_ml

    @property
    def abv(self) -> float:
        return mixture.abv(self.masses) * mixture.volume_ml(self.masses) / self.volume_ml

    @property
    def sugar_g_per_l(self) -> float:
        return 1000.0 * self.masses.sugar_g / self.volume_ml

    @property
    def acid_percent_ww(self) -> float:
        return 100.0 * (self.solutes_g + self.masses.acid_g) / self.mass_g


def grams_to_reach(start: Content, gram: Content, target_meq_per_l: float) -> float:
    """Grams of an addition that bring a liquid to an acidity, its new volume counted.

    meq(start) + x meq(gram) = target V(start + x gram), solved for x; the secant, kept between 0 and MOST_TIMES

    gram: a gram of the addition
    target_meq_per_l: between the start and `reach_meq_per_l`
    returns: x [g]
    """

    def excess(x: float) -> float:
        after = start + gram.scaled(x)
        return after.meq - target_meq_per_l * after.volume_ml / 1000.0

    low, high = 0.0, MOST_TIMES * start.mass_g
    at_low, at_high = excess(low), excess(high)
    before, at_before, x, at_x = high, at_high, low, at_low
    for _ in range(_ROUNDS):  # nearly a straight line: a handful is usual
        if abs(at_x) <= 1e-14 * abs(start.meq) + 1e-300 or high - low <= 1e-15 * high:
            return x
        step = at_x * (x - before) / (at_x - at_before) if at_x != at_before else 0.0
        nearer = x - step if low < x - step < high else 0.5 * (low + high)
        if abs(nearer - x) <= 1e-15 * x:
            return nearer
        before, at_before, x, at_x = x, at_x, nearer, excess(nearer)
        low, high = (x, high) if (at_x > 0.0) == (at_low > 0.0) else (low, x)
    return x


def reach_meq_per_l(start: Content, gram: Content) -> float:
    """The acidity that MOST_TIMES of an addition bring a liquid to [meq/L]."""
    return (start + gram.scaled(MOST_TIMES * start.mass_g)).meq_per_l

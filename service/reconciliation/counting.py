"""How much of a drink there is, by volume, by its vessels or on the scale; and how well that is known."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt
from typing import Literal

from service.drink import Drink
from service.errors import Fault, Refused
from service.notes import Notes
from service.reconciliation.asked import StockQuantity, Weighed
from service.science.band import Band
from service.science.units import Quantity
from service.vessel import fill_of, unjudged

Verdict = Literal["within", "over", "short"]
_NOISE = 1e-9
"""Relative; what binary fractions make of sums is no variance."""


@dataclass(frozen=True)
class Variance:
    """The count less what was expected, with the error of measuring.

    moved: the largest of the amounts that it is the difference of
    """

    value: float
    error: float
    moved: float

    @property
    def band(self) -> Band:
        return Band(self.value - self.error, self.value, self.value + self.error)

    @property
    def verdict(self) -> Verdict:
        """Within where the error of measuring explains all of it; else over or short."""
        if abs(self.value) <= self.error + _NOISE * self.moved:
            return "within"
        return "over" if self.value > 0.0 else "short"

    @property
    def beyond(self) -> float:
        """The variance where measuring does not explain it, else none."""
        return 0.0 if self.verdict == "within" else self.value


def error_of(amounts: Iterable[float], percent: float) -> float:
    """Return the error of a sum of measured amounts, each known to so many per cent of itself.

    source: propagation of independent uncertainties, JCGM 100:2008 (GUM) section 5.1
    """
    return percent / 100.0 * sqrt(sum(amount**2 for amount in amounts))


def volume_of(stock: StockQuantity, drink: Drink, name: str, notes: Notes, *, at: str) -> float:
    """Return the volume of a drink in stock [ml].

    name: of the drink; at: JSON Pointer of the stock
    raises: Refused for a gross weight below the tare, and for a vessel of no known size
    """
    if stock.weighed is not None:
        return _weighed_ml(stock.weighed, drink, name, notes, f"{at}/weighed")
    if stock.vessels is None:
        return stock.volume_ml or 0.0
    found = 0.0
    for i, kind in enumerate(stock.vessels):
        here = f"{at}/vessels/{i}"
        vessel = unjudged(kind.vessel, notes, at=f"{here}/vessel")
        found += kind.count * vessel.liquid_ml(fill_of(kind.fill, vessel, notes, at=f"{here}/fill", observed=True))
    return found


def _weighed_ml(weighed: Weighed, drink: Drink, name: str, notes: Notes, at: str) -> float:
    """Return the volume of what was weighed; its CO2, under a hundredth of it, counts as drink [ml]."""
    if weighed.gross_g < weighed.tare_g:
        text = "Weigh the empty vessels again: the gross weight, {gross}, is below the tare, {tare}."
        params = (("gross", Quantity("mass", weighed.gross_g)), ("tare", Quantity("mass", weighed.tare_g)))
        raise Refused("impossible-reading", [Fault(f"{at}/gross", "gross-below-tare", text, params)])
    density = drink.masses.total_g / drink.volume_ml
    notes.assume(
        "density of {drink} at 20 °C, without its CO2", Quantity("density", density), "published",
        "OIML R 22 and ICUMSA, by its spec", at=at,
        code="density-of-the-drink", drink=name,
    )  # fmt: skip
    return (weighed.gross_g - weighed.tare_g) / density

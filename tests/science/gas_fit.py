"""The fit behind the alcohol factor: `python -m tests.science.gas_fit` works its two constants out from print.

The shape over the strength (10 and 50 %vol) and the coefficients of sugar are set, not fitted: between sources that
disagree least squares would take the side of the one with more rows.
"""

from math import log, sqrt

from scipy.optimize import least_squares

from service.science.gas import ethanol_factor
from tests.science.gas_residuals import Pair, families

WEIGHTS = {
    "beer, Miller 1994": 1.0,
    "beer, chart of the US trade, to 8 degC": 0.6,  # of one origin with Miller
    "beer, chart of the US trade, over 8 degC": 1.6,
    "beer, MEBAK": 1.0,
    "wine, EEC 2676/90": 1.2,
    "Champagne constants, 0-25 degC": 1.0,
    "water-ethanol, Mueller 1889": 0.7,
    "sparkling wine, Liger-Belair et al. 2017": 0.5,  # of one origin with those constants, and contradicts them
    "sparkling wine, OIV ratios to 20 degC": 0.5,  # from memory; absolute or over the air is not certain
}
"""Of a family as a whole, however many rows it has, by how independent the source is: an estimate."""
BOTTLED = 0.95  # of the change of the solubility in the pressure of a full closed bottle


def shape(abv: float) -> float:
    """h of `ethanol_factor`: 0 in water."""
    return abv**4 / (1e4 + abv**4) * (1.0 - abv / 50.0)


def misfit(label: str, pair: Pair, a: float, b: float) -> float:
    """ln model - ln print with these constants in place of those of the model."""

    def more(t: float) -> float:
        return -(a + b * t) * shape(pair.liquid.abv) - log(ethanol_factor(pair.liquid.abv, t))

    t = pair.liquid.temperature_c
    change = more(t)
    if label.startswith("sparkling wine, OIV"):
        change = BOTTLED * (change - more(20.0))
    elif label.startswith("sparkling wine"):
        change = BOTTLED * (more(5.85) - change)
    return log(pair.model / pair.value) + change


def fitted() -> tuple[float, float]:
    """The effect at 0 degC and its growth a degree."""
    sources = {label: pairs for found in families().values() for label, _, pairs in found if label in WEIGHTS}
    assert set(sources) == set(WEIGHTS)

    def residuals(x: tuple[float, float]) -> list[float]:
        return [
            sqrt(WEIGHTS[label] / len(pairs)) * misfit(label, pair, *x)
            for label, pairs in sources.items()
            for pair in pairs
        ]

    a, b = least_squares(residuals, (0.2, 0.005)).x
    return float(a), float(b)


if __name__ == "__main__":
    print("effect at 0 degC {:.4f}, growth a degree {:.5f}".format(*fitted()))

"""Viscosity of a drink of water, ethanol and sugar, by temperature."""

from bisect import bisect_right
from math import exp, hypot, log, sqrt
from typing import Final

from service.science.constants import ZERO_CELSIUS_K
from service.science.mixture import Masses
from service.science.tables import rows
from service.science.validity import OutsideValidity

COLDEST_C: Final = -8.0
"""Where drinks that stay liquid end, as they do for CO2 [degC]; the tables begin at 0."""
WARMEST_C: Final = 40.0
"""Where the tables end [degC]."""
MOST_MASS_FRACTION: Final = 0.40
"""Ethanol in ethanol and water, and sugar in the drink, where the tables that are read here end [g/g]."""


def water_viscosity_pa_s(temperature_c: float) -> float:
    """Return the viscosity of liquid water at 0.1 MPa, supercooled water included.

    mu = sum_i a_i (T / 300 K)^b_i

    temperature_c: [degC], -20 to 100
    returns: mu [Pa s], within 1 %
    source: IAPWS SR6-08; coefficients from memory
    """
    T = (temperature_c + ZERO_CELSIUS_K) / 300.0
    return float(1e-6 * (280.68 * T**-1.9 + 511.45 * T**-7.7 + 61.131 * T**-19.6 + 0.45903 * T**-40.0))


def viscosity_pa_s(masses: Masses, temperature_c: float) -> float:
    """Return the viscosity of a drink.

    ln mu = ln mu_water + fE(p, t) + fS(w, t)
    fE: logarithm of the viscosity of ethanol and water over that of water, by the polynomial through the five rows of a
        temperature; p = m_E / (m_E + m_W)
    fS = a w / (1 - b w), through both rows of a temperature; w = (sugar, acid and salt) / the whole
    Both straight between temperatures, and carried on straight from 0 to -8 degC. That the two add is a rule, not a
    measurement, see `viscosity_spread`. Hexoses, acid and salt count as sucrose; dissolved CO2 is left out.

    temperature_c: t [degC], -8 to 40
    returns: mu [Pa s]
    raises: OutsideValidity for p or w over 0.4
    source: Bingham & Jackson 1918; CRC Handbook; form of fS: Mooney 1951
    """
    ethanol, sugar = _logarithms(masses, temperature_c)
    return water_viscosity_pa_s(temperature_c) * exp(ethanol + sugar)


def viscosity_spread(masses: Masses, temperature_c: float) -> float:
    """Return the relative half-width, about 90 %, of the viscosity of a drink.

    sqrt(0.04^2 + 0.25^2 fE fS) + 0.005 a degree below 0

    The first part is what printed tables of ethanol and of sucrose differ by from what is computed here. The second is
    how far another mixing rule (Laliberte 2009) is from this one where there is much of both, of which it holds seven
    in eight; an estimate, since no measured drink of sugar, ethanol and water was found in the cold.

    raises: OutsideValidity
    """
    ethanol, sugar = _logarithms(masses, temperature_c)
    return hypot(0.04, 0.25 * sqrt(max(0.0, ethanol * sugar))) + 0.005 * max(0.0, -temperature_c)


def _logarithms(masses: Masses, t: float) -> tuple[float, float]:
    """Return fE and fS."""
    if not COLDEST_C <= t <= WARMEST_C:
        raise OutsideValidity("temperature", t, COLDEST_C, WARMEST_C, "degC")
    solvent_g = masses.ethanol_g + masses.water_g
    if not solvent_g > 0.0:
        raise OutsideValidity("sugar, acid and salt without ethanol or water", masses.total_g, 0.0, 0.0, "g")
    p, w = masses.ethanol_g / solvent_g, 1.0 - solvent_g / masses.total_g
    if not p <= MOST_MASS_FRACTION:
        raise OutsideValidity("share of ethanol in ethanol and water", p, 0.0, MOST_MASS_FRACTION, "g/g")
    if not w <= MOST_MASS_FRACTION:
        raise OutsideValidity("share of sugar, acid and salt", w, 0.0, MOST_MASS_FRACTION, "g/g")
    return _between(_ETHANOL_C, [_ethanol(logs, p) for logs in _ETHANOL], t), _between(
        _SUCROSE_C, [a * w / (1.0 - b * w) for a, b in _SUCROSE], t
    )


def _ethanol(logs: list[float], p: float) -> float:
    """Return the polynomial through the rows of one temperature, by Newton's divided differences."""
    value = 0.0
    for coefficient, node in zip(reversed(logs), reversed(_ETHANOL_P), strict=True):
        value = value * (p - node) + coefficient
    return value


def _between(xs: list[float], ys: list[float], x: float) -> float:
    """Return y at x, straight between rows and on from the first two below them."""
    i = min(max(bisect_right(xs, x), 1), len(xs) - 1)
    return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1])


def _table(name: str) -> dict[float, dict[float, float]]:
    """Return the logarithm of the viscosity over that of water, by temperature and mass fraction."""
    found: dict[float, dict[float, float]] = {}
    for row in rows(name):
        at = found.setdefault(float(row["temperature_c"]), {})
        at[float(row["mass_percent"]) / 100.0] = float(row["viscosity_mpa_s"])
    return {t: {share: log(mu / of[0.0]) for share, mu in of.items()} for t, of in found.items()}


def _divided(xs: list[float], ys: list[float]) -> list[float]:
    """Return the coefficients of Newton's form of the polynomial through some points."""
    found = list(ys)
    for order in range(1, len(xs)):
        for i in range(len(xs) - 1, order - 1, -1):
            found[i] = (found[i] - found[i - 1]) / (xs[i] - xs[i - order])
    return found


def _mooney(at: dict[float, float]) -> tuple[float, float]:
    """Return a and b of the sugar's part, from its two rows."""
    (w1, f1), (w2, f2) = [(w, f) for w, f in at.items() if w > 0.0]
    ratio = f2 * w1 / (f1 * w2)
    b = (ratio - 1.0) / (ratio * w2 - w1)
    return f1 * (1.0 - b * w1) / w1, b


_OF_ETHANOL = _table("viscosity_ethanol_water")
_ETHANOL_C = list(_OF_ETHANOL)
_ETHANOL_P = list(_OF_ETHANOL[0.0])
_ETHANOL = [_divided(_ETHANOL_P, list(at.values())) for at in _OF_ETHANOL.values()]
_OF_SUCROSE = _table("viscosity_sucrose_water")
_SUCROSE_C = list(_OF_SUCROSE)
_SUCROSE = [_mooney(at) for at in _OF_SUCROSE.values()]

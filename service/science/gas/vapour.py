"""The rest of the gas: vapour of water and ethanol, air in water, and the atmosphere by altitude."""

from functools import lru_cache
from math import exp

from service.science.constants import ATMOSPHERE_BAR, ZERO_CELSIUS_K
from service.science.mixture.density import ETHANOL_20C_G_PER_ML
from service.science.validity import OutsideValidity

LOWEST_M, HIGHEST_M = -500.0, 5000.0
"""Where bars are; the formula itself holds to 11 km, ISO 2533 clause 2."""

_LAPSE_PER_M = 2.25577e-5  # 6.5 K/km over 288.15 K, ISO 2533:1975
_EXPONENT = 5.25588  # g M / (R x 6.5 K/km), ISO 2533:1975


def standard_atmosphere_bar(altitude_m: float) -> float:
    """Pressure of the standard atmosphere; the weather moves it by about 3 %.

    P = 1.01325 (1 - 2.25577e-5 h)^5.25588

    altitude_m: above sea level [m], -500 to 5000; h is geopotential, which a map's metres exceed by 1.4 at 3000 m
    returns: [bar]
    raises: OutsideValidity
    source: ISO 2533:1975, troposphere
    """
    if not LOWEST_M <= altitude_m <= HIGHEST_M:
        raise OutsideValidity("altitude", altitude_m, LOWEST_M, HIGHEST_M, "m")
    return float(ATMOSPHERE_BAR * (1.0 - _LAPSE_PER_M * altitude_m) ** _EXPONENT)


_ETHANOL_G_PER_MOL = 46.069  # IUPAC standard atomic weights
_WATER_G_PER_MOL = 18.015  # IUPAC standard atomic weights
_WATER_20C_G_PER_ML = 0.99820  # OIML R 22 (1975), p = 0
_VAN_LAAR_A, _VAN_LAAR_B = 1.6798, 0.9227  # ethanol, water; Perry's Handbook, after Gmehling & Onken 1977
_COLDEST_C, _WARMEST_C = -8.0, 45.0  # inside the range of both vapour pressure fits; water supercooled below 0


def water_vapour_bar(temperature_c: float) -> float:
    """Vapour pressure of water over liquid.

    pw = 6.1121 exp((18.678 - t/234.5) t / (257.14 + t)) mbar

    temperature_c: [degC], -8 to 45
    returns: [bar]
    raises: OutsideValidity
    source: Buck 1981, doi:10.1175/1520-0450(1981)020<1527:NEFCVP>2.0.CO;2, coefficients of the 1996 revision
    """
    t = _checked(temperature_c)
    return 6.1121e-3 * exp((18.678 - t / 234.5) * t / (257.14 + t))


def ethanol_vapour_bar(temperature_c: float) -> float:
    """Vapour pressure of pure ethanol.

    log10(pe/mmHg) = 8.20417 - 1642.89 / (t + 230.3)

    temperature_c: [degC], -8 to 45
    returns: [bar]
    raises: OutsideValidity
    source: Antoine constants of Gmehling & Onken 1977, Vapor-Liquid Equilibrium Data Collection, from memory
    """
    return float(1.33322e-3 * 10.0 ** (8.20417 - 1642.89 / (_checked(temperature_c) + 230.3)))


@lru_cache(maxsize=64)  # as `co2_solubility_mol_per_l_atm`
def vapour_pressure_bar(temperature_c: float, abv: float) -> float:
    """Vapour pressure of water and ethanol together over the drink, sugar left out.

    pv = x g1 pe + (1-x) g2 pw;  ln g1 = a / (1 + a x / (b (1-x)))^2, ln g2 = b / (1 + b (1-x) / (a x))^2
    (both over the common denominator here, so that x = 0 needs no exception)

    x comes from volumes taken as additive. Up to 3 mbar too high at 25 degC (Dobson 1925), 0.1 % of a charge.

    temperature_c: [degC], -8 to 45
    abv: [%vol], 0 to 40
    returns: [bar]
    raises: OutsideValidity
    source: van Laar equation, constants of Gmehling & Onken 1977 as in Perry's Chemical Engineers' Handbook
    """
    if not 0.0 <= abv <= 40.0 + 1e-9:  # what going by masses and back adds
        raise OutsideValidity("alcoholic strength", abv, 0.0, 40.0, "%vol")
    ethanol = abv * ETHANOL_20C_G_PER_ML / _ETHANOL_G_PER_MOL
    x = ethanol / (ethanol + (100.0 - abv) * _WATER_20C_G_PER_ML / _WATER_G_PER_MOL)
    ax, b1x = _VAN_LAAR_A * x, _VAN_LAAR_B * (1.0 - x)
    g1 = exp(_VAN_LAAR_A * (b1x / (ax + b1x)) ** 2)
    g2 = exp(_VAN_LAAR_B * (ax / (ax + b1x)) ** 2)
    return x * g1 * ethanol_vapour_bar(temperature_c) + (1.0 - x) * g2 * water_vapour_bar(temperature_c)


def air_solubility_mol_per_l_bar(temperature_c: float) -> float:
    """Henry coefficient of air in water, oxygen and nitrogen taken as one gas.

    Kair = 8.4e-4 exp(1450 (1/T - 1/293.15)) mol/(L atm)

    temperature_c: [degC], -8 to 45
    returns: [mol/(L bar)], good to 10 %
    raises: OutsideValidity
    source: from memory; within 8 % of J. Res. Natl. Bur. Stand. 77A (1973) 133, table 3
    """
    T = _checked(temperature_c) + ZERO_CELSIUS_K
    return 8.4e-4 * exp(1450.0 * (1.0 / T - 1.0 / 293.15)) / ATMOSPHERE_BAR


def _checked(temperature_c: float) -> float:
    if not _COLDEST_C <= temperature_c <= _WARMEST_C:
        raise OutsideValidity("temperature", temperature_c, _COLDEST_C, _WARMEST_C, "degC")
    return temperature_c

"""Atmospheric pressure by altitude."""

from service.science.constants import ATMOSPHERE_BAR
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

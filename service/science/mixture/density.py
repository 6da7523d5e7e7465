"""Density of ethanol in water (OIML R 22) and of sucrose in water (ICUMSA), and strength by mass and by volume."""

from collections.abc import Iterable
from functools import lru_cache

from service.science.tables import rows
from service.science.validity import OutsideValidity

_R22 = {(row["symbol"], int(row["i"]), int(row["k"])): float(row["value"]) for row in rows("oiml_r22_coefficients")}
_A = [_R22["A", 0, k] for k in range(1, 13)]
_B = [_R22["B", 0, k] for k in range(1, 7)]
_C = [[_R22["C", i, k] for k in range(1, m + 1)] for i, m in enumerate((11, 10, 9, 4, 2), start=1)]

_ICUMSA = {row["symbol"]: float(row["value"]) for row in rows("icumsa_sucrose_coefficients")}
_ROWS = [[_ICUMSA[f"{row}{k}"] for k in range(1, m + 1)] for row, m in zip("abcde", (6, 5, 4, 3, 2), strict=True)]
_W = [_ICUMSA[f"W{k}"] for k in range(6)]


def ethanol_water_density_kg_m3(mass_fraction: float, temperature_c: float = 20.0) -> float:
    """Density of ethanol and water.

    rho = A1 + sum_k A_k p^(k-1) + sum_k B_k (t-20)^k + sum_i sum_k C_ik p^k (t-20)^i

    mass_fraction: ethanol, p [-], 0 to 1
    temperature_c: t [degC], -20 to 40; below the freezing line it is that of the supercooled liquid, outside the
        printed tables (water at -10 degC comes out within 0.02 kg/m3 of its measured density)
    returns: rho [kg/m3]
    raises: OutsideValidity
    source: OIML R 22 (1975), general formula; IPTS-68, which differs from ITS-90 by less than 0.01 degC here
    """
    if not -20.0 <= temperature_c <= 40.0:
        raise OutsideValidity("temperature", temperature_c, -20.0, 40.0, "degC")
    if not 0.0 <= mass_fraction <= 1.0:
        raise OutsideValidity("mass fraction of ethanol", mass_fraction, 0.0, 1.0, "g/g")
    return _horner(_r22_in_p(temperature_c), mass_fraction)


def sucrose_water_density_kg_m3(mass_fraction: float, temperature_c: float = 20.0) -> float:
    """Density of sucrose in water.

    rho = rho_w(t) + sum_i T^i sum_k c_ik w^k, T = (t-20)/100

    mass_fraction: sucrose, w [-], 0 to 0.85 (the formula is fitted to 0.7; up to 0.85 it is within 1 kg/m3 of CRC)
    temperature_c: t [degC], 0 to 100
    returns: rho [kg/m3]
    raises: OutsideValidity
    source: ICUMSA SPS-4 (1990/1994); differences from 20 degC within 0.1 kg/m3 of Barber 1966 from 10 to 30 degC
    """
    if not 0.0 <= temperature_c <= 100.0:
        raise OutsideValidity("temperature", temperature_c, 0.0, 100.0, "degC")
    if not 0.0 <= mass_fraction <= 0.85:
        raise OutsideValidity("mass fraction of sugar", mass_fraction, 0.0, 0.85, "g/g")
    return _horner(_icumsa_in_w(temperature_c), mass_fraction)


def abv_from_mass_fraction(mass_fraction: float) -> float:
    """Alcoholic strength by volume of ethanol and water.

    abv = 100 p rho(p, 20) / rho(1, 20)

    mass_fraction: ethanol, p [-], 0 to 1
    returns: strength at 20 degC [%vol]
    raises: OutsideValidity
    source: OIML R 22 (1975)
    """
    return mass_fraction * ethanol_water_density_kg_m3(mass_fraction) / (10.0 * ETHANOL_20C_G_PER_ML)


def mass_fraction_from_abv(abv: float) -> float:
    """Mass fraction of ethanol in ethanol and water; inverse of `abv_from_mass_fraction`, by Newton's method.

    abv: strength at 20 degC [%vol], 0 to 100
    returns: p [-]
    raises: OutsideValidity
    """
    if not 0.0 <= abv <= 100.0:
        raise OutsideValidity("alcoholic strength", abv, 0.0, 100.0, "%vol")
    p = 0.008 * abv
    for _ in range(12):  # six are enough
        rho, slope = _horner_and_slope(_r22_in_p(20.0), p)
        step = (p * rho - 10.0 * ETHANOL_20C_G_PER_ML * abv) / (rho + p * slope)
        p -= step
        if abs(step) < 1e-15:
            break
    return min(p, 1.0)  # only rounding can carry it past pure ethanol


@lru_cache(maxsize=64)
def _r22_in_p(t: float) -> tuple[float, ...]:
    """The R 22 formula at one temperature, as a polynomial in p, highest power first."""
    dt = t - 20.0
    in_p = [_A[0] + dt * _horner(reversed(_B), dt), *_A[1:]]
    for i, C_i in enumerate(_C, start=1):
        for k, C_ik in enumerate(C_i, start=1):
            in_p[k] += C_ik * dt**i
    return tuple(reversed(in_p))


@lru_cache(maxsize=64)
def _icumsa_in_w(t: float) -> tuple[float, ...]:
    """The ICUMSA formula at one temperature, as a polynomial in w, highest power first."""
    T = (t - 20.0) / 100.0
    in_w = [_horner(reversed(_W), t) / (1.0 + _ICUMSA["Wd"] * t)] + [0.0] * 6
    for i, c_i in enumerate(_ROWS):
        for k, c_ik in enumerate(c_i, start=1):
            in_w[k] += c_ik * T**i
    return tuple(reversed(in_w))


def _horner(highest_first: Iterable[float], x: float) -> float:
    value = 0.0
    for coefficient in highest_first:
        value = value * x + coefficient
    return value


def _horner_and_slope(highest_first: Iterable[float], x: float) -> tuple[float, float]:
    value = slope = 0.0
    for coefficient in highest_first:
        slope = slope * x + value
        value = value * x + coefficient
    return value, slope


ETHANOL_20C_G_PER_ML = _horner(_r22_in_p(20.0), 1.0) / 1000.0
"""Pure ethanol at 20 degC [g/mL]: 0.7892391, the formula's own value, so that p = 1 is exactly 100 %vol."""

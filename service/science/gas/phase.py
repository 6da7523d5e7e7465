"""The gas itself: CO2 with some air as a slightly imperfect gas, and CO2 over its own liquid in a cylinder."""

from dataclasses import dataclass
from functools import lru_cache
from math import exp, sqrt

from service.science.constants import ATMOSPHERE_BAR, GAS_CONSTANT_L_BAR, ZERO_CELSIUS_K
from service.science.validity import OutsideValidity

GAS_PRESSURE_LIMIT_BAR_ABS = 10.0
"""The virial equation is used to here: Z within 0.3 % to 8 bar and 0.5 % to 10 bar of Span & Wagner 1996."""

_AIR_B = -12.0  # second virial coefficient of air near 0 degC [cm3/mol]; rounded, from memory
_CO2_MOLAR_VOLUME = 0.0323  # partial molar volume of CO2 in water [L/mol]; Weiss 1974, 32.3 cm3/mol; others 32 to 36
_LOWEST_K, _HIGHEST_K = 265.0, 320.0  # range of B(T) and delta(T); Weiss 1974 eq. 6 and 11

_CRITICAL_K, _CRITICAL_BAR = 304.1282, 73.773  # critical point of CO2; Span & Wagner 1996 table 1
_TRIPLE_K = 216.592  # triple point of CO2; Span & Wagner 1996 eq. 3.1


@dataclass(frozen=True, slots=True)
class GasPhase:
    """CO2-air gas at one temperature; holds what depends on temperature alone, so that a loop need not redo it.

    B, Bair, cross, delta and v stand over R T here [1/bar].
    source: Weiss 1974, doi:10.1016/0304-4203(74)90015-2, eq. 9; air as the second gas
    """

    rt: float  # R T [L bar/mol]
    B: float  # second virial coefficient of CO2
    Bair: float
    delta: float  # CO2-air cross term
    cross: float  # (B + Bair)/2 + delta
    v: float  # partial molar volume of CO2 in water

    def ln_phi(self, P: float, y: float) -> float:
        """ln phi = (B + 2 (1-y)^2 delta) P / (R T), P absolute [bar], y the mole fraction of CO2."""
        x = 1.0 - y
        return (self.B + 2.0 * x * x * self.delta) * P

    def ln_poynting(self, P: float) -> float:
        """v (1 atm - P) / (R T): pressure presses the dissolved gas out a little."""
        return self.v * (ATMOSPHERE_BAR - P)

    def z(self, P: float, y: float) -> float:
        """Z = 1 + Bm P / (R T), Bm = y^2 B + 2 y (1-y) ((B + Bair)/2 + delta) + (1-y)^2 Bair."""
        x = 1.0 - y
        return 1.0 + (y * y * self.B + 2.0 * y * x * self.cross + x * x * self.Bair) * P

    def share(self, P: float, ideal: float) -> float:
        """Mole fraction of CO2 where an ideal gas would have another: y = ideal Z(P, y), a quadratic in y."""
        a = ideal * (self.B - 2.0 * self.cross + self.Bair) * P
        b = 2.0 * ideal * (self.cross - self.Bair) * P - 1.0
        c = ideal * (1.0 + self.Bair * P)
        return 2.0 * c / (sqrt(b * b - 4.0 * a * c) - b)


def check_gas(pressure_bar_abs: float, co2_share: float) -> None:
    """Refuse a gas outside the range of the virial equation.

    raises: OutsideValidity
    """
    if not 0.0 <= pressure_bar_abs <= GAS_PRESSURE_LIMIT_BAR_ABS:
        raise OutsideValidity("pressure", pressure_bar_abs, 0.0, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")
    if not 0.0 <= co2_share <= 1.0:
        raise OutsideValidity("CO2 share of the gas", co2_share, 0.0, 1.0, "")


@lru_cache(maxsize=64)  # as `co2_solubility_mol_per_l_atm`
def gas_phase(temperature_c: float) -> GasPhase:
    """The gas at this temperature.

    temperature_c: [degC], -8.15 to 46.85
    raises: OutsideValidity
    """
    T = temperature_c + ZERO_CELSIUS_K
    rt, B, delta = GAS_CONSTANT_L_BAR * T, second_virial_cm3_per_mol(temperature_c), 57.7 - 0.118 * T
    per_bar = 1e-3 / rt  # of a virial coefficient in cm3/mol
    cross = 0.5 * (B + _AIR_B) + delta
    return GasPhase(rt, B * per_bar, _AIR_B * per_bar, delta * per_bar, cross * per_bar, _CO2_MOLAR_VOLUME / rt)


def second_virial_cm3_per_mol(temperature_c: float) -> float:
    """Second virial coefficient of pure CO2.

    B = -1636.75 + 12.0408 T - 3.27957e-2 T^2 + 3.16528e-5 T^3

    temperature_c: [degC], -8.15 to 46.85 (265 to 320 K)
    returns: B [cm3/mol]
    raises: OutsideValidity
    source: Weiss 1974, doi:10.1016/0304-4203(74)90015-2, eq. 6
    """
    T = temperature_c + ZERO_CELSIUS_K
    if not _LOWEST_K <= T <= _HIGHEST_K:
        low, high = _LOWEST_K - ZERO_CELSIUS_K, _HIGHEST_K - ZERO_CELSIUS_K
        raise OutsideValidity("temperature", temperature_c, low, high, "degC")
    return -1636.75 + 12.0408 * T - 3.27957e-2 * T**2 + 3.16528e-5 * T**3


def ln_fugacity_coefficient(temperature_c: float, pressure_bar_abs: float, co2_share: float) -> float:
    """Natural logarithm of the fugacity coefficient of CO2 in CO2-air gas.

    temperature_c: [degC], -8.15 to 46.85; pressure_bar_abs: total [bar], 0 to 10; co2_share: mole fraction, 0 to 1
    returns: ln phi
    raises: OutsideValidity
    source: Weiss 1974, doi:10.1016/0304-4203(74)90015-2, eq. 9
    """
    check_gas(pressure_bar_abs, co2_share)
    return gas_phase(temperature_c).ln_phi(pressure_bar_abs, co2_share)


def compressibility(temperature_c: float, pressure_bar_abs: float, co2_share: float) -> float:
    """Compressibility factor of CO2-air gas.

    temperature_c: [degC], -8.15 to 46.85; pressure_bar_abs: total [bar], 0 to 10; co2_share: mole fraction, 0 to 1
    returns: Z
    raises: OutsideValidity
    source: virial equation of the mixture, coefficients as in `GasPhase`
    """
    check_gas(pressure_bar_abs, co2_share)
    return gas_phase(temperature_c).z(pressure_bar_abs, co2_share)


def poynting(temperature_c: float, pressure_bar_abs: float) -> float:
    """Factor by which total pressure lowers the solubility of CO2, 1 at one atmosphere.

    temperature_c: [degC], -8.15 to 46.85; pressure_bar_abs: total [bar], 0 to 10
    returns: factor
    raises: OutsideValidity
    source: Weiss 1974, doi:10.1016/0304-4203(74)90015-2, eq. 4
    """
    check_gas(pressure_bar_abs, 1.0)
    return exp(gas_phase(temperature_c).ln_poynting(pressure_bar_abs))


def cylinder_pressure_bar_abs(temperature_c: float) -> float:
    """Pressure in a CO2 cylinder for as long as some of it is liquid.

    ln(P/Pc) = (Tc/T) (-7.0602087 q + 1.9391218 q^1.5 - 1.6463597 q^2 - 3.2995634 q^4), q = 1 - T/Tc

    temperature_c: [degC], -56.558 to 30.978; above there is no liquid
    returns: [bar]
    raises: OutsideValidity
    source: Span & Wagner 1996, doi:10.1063/1.555991, eq. 3.13
    """
    T = temperature_c + ZERO_CELSIUS_K
    if not _TRIPLE_K <= T <= _CRITICAL_K:
        low, high = _TRIPLE_K - ZERO_CELSIUS_K, _CRITICAL_K - ZERO_CELSIUS_K
        raise OutsideValidity("cylinder temperature", temperature_c, low, high, "degC")
    q = 1.0 - T / _CRITICAL_K
    series = -7.0602087 * q + 1.9391218 * q**1.5 - 1.6463597 * q**2 - 3.2995634 * q**4
    return _CRITICAL_BAR * exp(_CRITICAL_K / T * series)

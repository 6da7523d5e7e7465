"""Heat capacity of a drink."""

from bisect import bisect_left

from service.science.mixture.composition import Masses
from service.science.tables import rows
from service.science.validity import OutsideValidity

_TEMPERATURES_C = (3.0, 23.0, 41.0)
_TABLE = {
    (float(row["mass_percent"]), float(row["temperature_c"])): float(row["heat_capacity_kj_per_kg_k"])
    for row in rows("ethanol_water_heat_capacity")
}
_MASS_PERCENTS = sorted({mass_percent for mass_percent, _ in _TABLE})
_COLUMNS = tuple(tuple(_TABLE[p, t] for p in _MASS_PERCENTS) for t in _TEMPERATURES_C)


def _mole_fraction(ethanol_g: float, water_g: float) -> float:
    ethanol_mol, water_mol = ethanol_g / 46.068, water_g / 18.015  # g/mol, IUPAC
    return ethanol_mol / (ethanol_mol + water_mol)


_MOLE_FRACTIONS = tuple(_mole_fraction(p, 100.0 - p) for p in _MASS_PERCENTS)


def heat_capacity_kj_per_kg_k(masses: Masses, temperature_c: float) -> float:
    """Specific heat of a drink.

    c = [(m_E + m_W) c_EW(x, t) + (m_S + m_A + m_N)(1.677 + 0.0075 t)]/m
    c_EW straight between the rows of the table in mole fraction x

    temperature_c: t [degC], -20 to 41; c_EW below 3 is taken at 3, where the table begins, which is
        2.5 % too high for a spirit at -15 (CoolProp INCOMP::MEA)
    returns: c [kJ/(kg K)]; within 2 % of Melinder, 2.5 % of Laliberte 2009
    raises: OutsideValidity
    source: c_EW: Perry's Chemical Engineers' Handbook, 7th ed. 1997, p. 2-184; dissolved solids: Bubnik and others,
        Sugar Technologists Manual, 8th ed. 1995, c = 4.1868 - 0.0297 B + 4.6e-5 B P + 7.5e-5 B t at B = P = 100, there
        for sugar, here for acid and salt too
    """
    if not -20.0 <= temperature_c <= 41.0:
        raise OutsideValidity("temperature", temperature_c, -20.0, 41.0, "degC")
    solvent_g = masses.ethanol_g + masses.water_g
    if not solvent_g > 0.0:
        raise OutsideValidity("sugar, acid and salt without ethanol or water", masses.total_g, 0.0, 0.0, "g")
    x = _mole_fraction(masses.ethanol_g, masses.water_g)
    at_rows = [_between(_MOLE_FRACTIONS, column, x) for column in _COLUMNS]
    solvent = _between(_TEMPERATURES_C, at_rows, max(temperature_c, _TEMPERATURES_C[0]))
    solids_g = masses.total_g - solvent_g
    return (solvent_g * solvent + solids_g * (1.677 + 0.0075 * temperature_c)) / masses.total_g


def _between(xs: tuple[float, ...], ys: list[float] | tuple[float, ...], x: float) -> float:
    """y at an x inside the table, straight between its rows."""
    i = max(bisect_left(xs, x), 1)
    return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1])


ICE_KJ_PER_KG = 333.6
"""Heat that melts ice at 0 degC [kJ/kg]; 6.01 kJ/mol, CRC Handbook, enthalpy of fusion."""
HEAT_CAPACITY_SPREAD = 0.025
"""How far `heat_capacity_kj_per_kg_k` is from print at the most, relative."""


def heat_to_remove_kj(masses: Masses, *, start_c: float, goal_c: float) -> float:
    """Heat that leaves a liquid while it cools, without ice forming.

    Q = m c(midway) (T0 - T1)

    start_c, goal_c: T0, T1 [degC], see `heat_capacity_kj_per_kg_k`
    returns: Q [kJ]; below 0 where it warms
    raises: OutsideValidity
    source: definition of the specific heat
    """
    specific = heat_capacity_kj_per_kg_k(masses, (start_c + goal_c) / 2.0)
    return masses.total_g / 1000.0 * specific * (start_c - goal_c)


def ice_melted_g(heat_kj: float) -> float:
    """Ice at 0 degC that takes up so much heat [g].

    m = Q/L

    heat_kj: Q [kJ]
    source: CRC Handbook, enthalpy of fusion of water, see `ICE_KJ_PER_KG`
    """
    return 1000.0 * heat_kj / ICE_KJ_PER_KG

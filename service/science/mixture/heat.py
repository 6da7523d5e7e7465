"""Heat: the heat capacity of a drink, the heat that leaves it, and how long it takes to cool."""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from math import log
from types import MappingProxyType
from typing import Literal, cast

from service.science.band import Band
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
"""Largest relative difference of `heat_capacity_kj_per_kg_k` from print."""


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


Medium = Literal["air", "ice", "brine"]


@dataclass(frozen=True)
class Environment:
    """A place where vessels are cooled: its usual temperature [degC] and heat transfer coefficient U [W/(m2 K)].

    medium: ice is melting ice in water, which keeps to its temperature; any other medium swings
    freezes: no charged vessel is put there
    swing_c: how far below its temperature it goes, see `lowest_safe_c` [degC]
    cools_w: heat that it takes out for as long as it is asked to [W]; None where ice does
    to_room: ice that melts beside what a load melts, as a share of that; None where nothing melts
    """

    key: str
    temperature_c: float
    u_w_per_m2_k: Band
    medium: Medium
    freezes: bool
    swing_c: float
    cools_w: Band | None
    to_room: Band | None
    reason: str


def _band(row: Mapping[str, str], low: str, typical: str, high: str) -> Band | None:
    return Band(float(row[low]), float(row[typical]), float(row[high])) if row[typical] else None


ENVIRONMENTS: Mapping[str, Environment] = MappingProxyType(
    {
        row["key"]: Environment(
            row["key"],
            float(row["temperature_c"]),
            Band(float(row["u_low"]), float(row["u_typical"]), float(row["u_high"])),
            cast("Medium", row["medium"]),
            row["freezes"] == "yes",
            float(row["swing_c"]),
            _band(row, "cools_low_w", "cools_typical_w", "cools_high_w"),
            _band(row, "to_room_low", "to_room_typical", "to_room_high"),
            row["reason"],
        )
        for row in rows("environments")
    }
)


@dataclass(frozen=True)
class Wall:
    """The wall of a vessel: its outer area [m2] and its heat capacity [kJ/K]."""

    area_m2: float
    heat_capacity_kj_per_k: float


_WALLS = {row["material"]: row for row in rows("vessel_walls")}


def wall_of(material: str, capacity_ml: float) -> Wall:
    """Wall of a vessel of any size, from one known vessel of its material.

    A = A_0 (V/V_0)^(2/3), as of bodies of one shape; wall mass grows with the area (estimate)

    material: glass, pet, steel or aluminium
    capacity_ml: V [mL], 10 to 100,000
    returns: area and heat capacity of the wall
    raises: KeyError for another material; OutsideValidity
    source: sizes and masses from memory, see the table
    """
    if not 10.0 <= capacity_ml <= 100_000.0:
        raise OutsideValidity("capacity", capacity_ml, 10.0, 100_000.0, "mL")
    known = _WALLS[material]
    larger: float = (capacity_ml / 1000.0 / float(known["capacity_l"])) ** (2.0 / 3.0)
    wall_kj_per_k = float(known["wall_kg"]) * float(known["specific_heat_kj_per_kg_k"])
    return Wall(larger * float(known["area_m2"]), larger * wall_kj_per_k)


def cooling_time_constant_s(masses: Masses, *, temperature_c: float, wall: Wall, u_w_per_m2_k: Band) -> Band:
    """Time in which the distance to the surrounding temperature falls to 1/e.

    tau = (m c + m_c c_c)/(U A)

    masses: the liquid in one vessel
    temperature_c: midway between start and goal [degC], see `heat_capacity_kj_per_kg_k`
    u_w_per_m2_k: U, of an `Environment`
    returns: tau [s]; one temperature for all the liquid, so too short where vessels crowd, the fridge is loaded warm,
        a weak drink nears 4 degC (its density peaks and convection stops) or ice forms
    raises: OutsideValidity
    """
    liquid_kj_per_k = masses.total_g / 1000.0 * heat_capacity_kj_per_kg_k(masses, temperature_c)
    j_per_k = 1000.0 * (liquid_kj_per_k + wall.heat_capacity_kj_per_k)
    return u_w_per_m2_k.map(lambda U: j_per_k / (U * wall.area_m2))


def time_to_s(*, start_c: float, goal_c: float, environment_c: float, time_constant_s: float) -> float:
    """Time to cool, or to warm, from start to goal.

    t = tau ln[(T0 - T_env)/(T1 - T_env)]

    goal_c: T1 [degC], between start and environment and never quite the latter
    returns: t [s]; in proportion to tau, so a band of tau maps to a band of time
    raises: OutsideValidity
    """
    if goal_c == environment_c or not (start_c - goal_c) * (goal_c - environment_c) >= 0.0:
        low, high = sorted((start_c, environment_c))
        raise OutsideValidity("temperature to reach", goal_c, low, high, "degC")
    return time_constant_s * log((start_c - environment_c) / (goal_c - environment_c))


def time_constant_from_reading_s(*, start_c: float, reading_c: float, environment_c: float, elapsed_s: float) -> float:
    """Time constant that one reading of a thermometer implies.

    tau = t / ln[(T0 - T_env)/(T - T_env)]

    reading_c: T [degC], strictly between start and environment
    returns: tau [s]
    raises: OutsideValidity
    """
    if reading_c == start_c:
        low, high = sorted((start_c, environment_c))
        raise OutsideValidity("temperature read", reading_c, low, high, "degC")
    per_tau = time_to_s(start_c=start_c, goal_c=reading_c, environment_c=environment_c, time_constant_s=1.0)
    return elapsed_s / per_tau

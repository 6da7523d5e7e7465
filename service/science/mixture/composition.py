"""A liquid as additive masses; its volume with contraction, and what follows from it. Strengths are at 20 degC."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import isclose

from service.science.mixture.density import (
    ETHANOL_20C_G_PER_ML,
    ethanol_water_density_kg_m3,
    sucrose_water_density_kg_m3,
)
from service.science.validity import OutsideValidity

ACID_ML_PER_G = 0.597
"""Apparent specific volume of citric acid in water [mL/g]; from the densities of 1 to 30 % w/w in the CRC Handbook."""

MOST_BRIX = 84.0
"""Strongest syrup [g/100 g]; `sucrose_water_density_kg_m3` ends at 85, and rounding elsewhere must not pass it."""

SALT_ML_PER_G = 0.30
"""Apparent specific volume of table salt in water [mL/g]; from memory."""


@dataclass(frozen=True, slots=True)
class Masses:
    """The make-up of a liquid [g]. Hexoses are glucose and fructose; acid is reckoned as citric, salt as NaCl."""

    ethanol_g: float = 0.0
    water_g: float = 0.0
    sucrose_g: float = 0.0
    hexose_g: float = 0.0
    acid_g: float = 0.0
    salt_g: float = 0.0

    def __add__(self, other: "Masses") -> "Masses":
        return Masses(
            self.ethanol_g + other.ethanol_g,
            self.water_g + other.water_g,
            self.sucrose_g + other.sucrose_g,
            self.hexose_g + other.hexose_g,
            self.acid_g + other.acid_g,
            self.salt_g + other.salt_g,
        )

    def scaled(self, k: float) -> "Masses":
        return Masses(
            self.ethanol_g * k,
            self.water_g * k,
            self.sucrose_g * k,
            self.hexose_g * k,
            self.acid_g * k,
            self.salt_g * k,
        )

    def __mul__(self, k: float) -> "Masses":
        return self.scaled(k)

    @property
    def sugar_g(self) -> float:
        return self.sucrose_g + self.hexose_g

    @property
    def total_g(self) -> float:
        return self.ethanol_g + self.water_g + (self.sucrose_g + self.hexose_g) + self.acid_g + self.salt_g


def together(parts: Iterable[tuple[Masses, float]]) -> Masses:
    """Mix liquids, each taken so many times."""
    ethanol_g = water_g = sucrose_g = hexose_g = acid_g = salt_g = 0.0
    for masses, k in parts:
        ethanol_g += masses.ethanol_g * k
        water_g += masses.water_g * k
        sucrose_g += masses.sucrose_g * k
        hexose_g += masses.hexose_g * k
        acid_g += masses.acid_g * k
        salt_g += masses.salt_g * k
    return Masses(ethanol_g, water_g, sucrose_g, hexose_g, acid_g, salt_g)


def volume_ml(masses: Masses, temperature_c: float = 20.0) -> float:
    """Volume of a liquid by Young's rule: ethanol and water as such, each solute at its apparent volume in water.

    V = (m_E + m_W)/rho_R22(p', t) + m_S phi_S(w', t) + m_A phi_A + m_N phi_N
    p' = m_E/(m_E + m_W), w' = m_S/(m_S + m_E + m_W), phi_S = [1/rho_ICUMSA(w') - (1 - w')/rho_w]/w'

    masses: ethanol and water above zero; sugar up to 0.85 of the whole; hexoses take the volume of sucrose
    temperature_c: t [degC], -20 to 40; below 0, where ICUMSA ends, phi_S is taken at 0
    returns: V [mL]; expect 0.03 % for wine-like, 0.1 % for cocktails, 0.2 to 0.4 % for strong liqueurs (estimate)
    raises: OutsideValidity
    source: OIML R 22 (1975); ICUMSA SPS-4 (1990/1994)
    """
    solvent_g = masses.ethanol_g + masses.water_g
    if not solvent_g > 0.0:
        raise OutsideValidity("sugar, acid and salt without ethanol or water", masses.total_g, 0.0, 0.0, "g")
    solvent_ml = 1000.0 * solvent_g / ethanol_water_density_kg_m3(masses.ethanol_g / solvent_g, temperature_c)
    sugar_ml = _sugar_ml(masses.sucrose_g + masses.hexose_g, solvent_g, max(temperature_c, 0.0))
    return solvent_ml + sugar_ml + masses.acid_g * ACID_ML_PER_G + masses.salt_g * SALT_ML_PER_G


def _sugar_ml(sugar_g: float, solvent_g: float, temperature_c: float) -> float:
    """m_S phi_S, written so that it holds at no sugar too."""
    syrup_g = sugar_g + solvent_g
    syrup_l = syrup_g / sucrose_water_density_kg_m3(sugar_g / syrup_g, temperature_c)
    return 1000.0 * (syrup_l - solvent_g / sucrose_water_density_kg_m3(0.0, temperature_c))


def density_g_per_ml(masses: Masses, temperature_c: float = 20.0) -> float:
    """Density [g/mL]; see `volume_ml`."""
    return masses.total_g / volume_ml(masses, temperature_c)


def abv(masses: Masses) -> float:
    """Alcoholic strength [%vol]; see `volume_ml`."""
    return strength(masses.ethanol_g, volume_ml(masses))


def strength(ethanol_g: float, in_ml: float) -> float:
    """Alcoholic strength of a liquid whose volume is known already [%vol].

    ethanol_g: in it [g]; in_ml: its volume at 20 degC [mL]
    """
    return 100.0 * ethanol_g / ETHANOL_20C_G_PER_ML / in_ml


def sugar_g_per_l(masses: Masses) -> float:
    """Sugar per litre of liquid [g/L]; see `volume_ml`."""
    return 1000.0 * masses.sugar_g / volume_ml(masses)


def hexose_share(masses: Masses) -> float:
    """Share of the sugar that is glucose and fructose, 0 to 1; 0 where there is no sugar."""
    return masses.hexose_g / masses.sugar_g if masses.sugar_g else 0.0


def brix(masses: Masses) -> float:
    """True degrees Brix, g of sugar in 100 g. A refractometer reads an alcoholic drink differently."""
    return 100.0 * masses.sugar_g / masses.total_g


def masses_of(
    volume_ml: float,
    *,
    abv: float,
    sugar_g_per_l: float,
    hexose_share: float = 0.0,
    acid_g_per_l: float = 0.0,
    salt_g_per_l: float = 0.0,
    density_g_per_ml: float | None = None,
) -> Masses:
    """Masses of a component that the bar states by volume.

    m_W = rho V - the rest when the density is known, otherwise the m_W at which `volume_ml` is V

    volume_ml: V [mL] at 20 degC
    abv: strength [%vol], 0 to 100
    hexose_share: glucose and fructose in the sugar [-], 0 to 1
    density_g_per_ml: measured at 20 degC; pulp, fat and the like then count as water
    returns: masses
    raises: OutsideValidity when the parts leave no room for water
    """
    litre = _litre_of(abv, sugar_g_per_l, hexose_share, acid_g_per_l, salt_g_per_l, density_g_per_ml)
    return litre.scaled(volume_ml / 1000.0)


@lru_cache(maxsize=1024)  # a recipe asks for the same component again and again; solving costs 50 times a look-up
def _litre_of(
    abv: float,
    sugar_g_per_l: float,
    hexose_share: float,
    acid_g_per_l: float,
    salt_g_per_l: float,
    density_g_per_ml: float | None,
) -> Masses:
    if not 0.0 <= abv <= 100.0:
        raise OutsideValidity("alcoholic strength", abv, 0.0, 100.0, "%vol")
    if not 0.0 <= hexose_share <= 1.0:
        raise OutsideValidity("share of hexoses in the sugar", hexose_share, 0.0, 1.0, "g/g")
    dry = Masses(
        ethanol_g=10.0 * abv * ETHANOL_20C_G_PER_ML,
        sucrose_g=sugar_g_per_l * (1.0 - hexose_share),
        hexose_g=sugar_g_per_l * hexose_share,
        acid_g=acid_g_per_l,
        salt_g=salt_g_per_l,
    )
    if density_g_per_ml is None:
        return dry + Masses(water_g=water_to_fill_g(dry, 1000.0))
    water_g = 1000.0 * density_g_per_ml - dry.total_g
    if not water_g >= 0.0:
        raise OutsideValidity("water beside the stated alcohol, sugar and acid", water_g, 0.0, 1000.0, "g/L")
    return dry + Masses(water_g=water_g)


def water_to_fill_g(masses: Masses, fill_ml: float) -> float:
    """Water that brings a liquid to a volume, contraction included.

    V(masses + m_W) = fill_ml, solved for m_W

    fill_ml: volume wanted [mL] at 20 degC, at least the present one
    returns: m_W [g]
    raises: OutsideValidity when there is no room for water
    """
    start_g = max(fill_ml - _volume_if_additive_ml(masses), 0.0)
    return _water_filling_g(lambda m_W: volume_ml(masses + Masses(water_g=m_W)), fill_ml, start_g)


def _volume_if_additive_ml(masses: Masses) -> float:
    """A first guess: 0.615 mL/g is the least apparent volume of sugar, 0.998 g/mL the density of water."""
    return (
        masses.ethanol_g / ETHANOL_20C_G_PER_ML
        + masses.water_g / 0.998
        + masses.sugar_g * 0.615
        + masses.acid_g * ACID_ML_PER_G
        + masses.salt_g * SALT_ML_PER_G
    )


def water_to_reach_abv_g(masses: Masses, target_abv: float) -> float:
    """Water that lets a liquid down to a strength, contraction included.

    target_abv: strength wanted [%vol], above 0, at most the present one
    returns: water to add [g]
    raises: OutsideValidity
    """
    present = abv(masses)
    if isclose(target_abv, present, rel_tol=1e-9):
        return 0.0
    if not 0.0 < target_abv < present:
        raise OutsideValidity("strength wanted", target_abv, 0.0, present, "%vol")
    return water_to_fill_g(masses, 100.0 * masses.ethanol_g / ETHANOL_20C_G_PER_ML / target_abv)


@lru_cache(maxsize=1024)  # as above
def sugar_g_per_l_from_brix(brix: float, abv: float = 0.0) -> float:
    """Sugar per litre of a liquid whose sugar is known by mass.

    s = w/(1 - w) (m_E + m_W), w = B/100, with the m_W at which the volume is 1 L

    brix: B, true degrees Brix [g/100 g], 0 to MOST_BRIX
    abv: strength [%vol], 0 to 100
    returns: s [g/L] at 20 degC
    raises: OutsideValidity
    """
    if not 0.0 <= brix <= MOST_BRIX:
        raise OutsideValidity("degrees Brix", brix, 0.0, MOST_BRIX, "g/100 g")
    if not 0.0 <= abv <= 100.0:
        raise OutsideValidity("alcoholic strength", abv, 0.0, 100.0, "%vol")
    ethanol_g = 10.0 * abv * ETHANOL_20C_G_PER_ML
    ratio = brix / (100.0 - brix)

    def sweetened_ml(water_g: float) -> float:
        return volume_ml(Masses(ethanol_g, water_g, ratio * (ethanol_g + water_g)))

    start_g = max((1000.0 - 10.0 * abv) / (1.0 + 0.615 * ratio), 0.0)
    return ratio * (ethanol_g + _water_filling_g(sweetened_ml, 1000.0, start_g))


def _water_filling_g(volume_at: Callable[[float], float], fill_ml: float, start_g: float) -> float:
    """Water [g] at which a rising, nearly straight volume reaches fill_ml, by the secant method."""
    water_g, slope = start_g, 1.0
    excess_ml = volume_at(water_g) - fill_ml
    while abs(excess_ml) > 1e-12 * fill_ml:  # five rounds are usual
        nearer_g = max(water_g - excess_ml / slope, 0.0)
        if nearer_g == water_g:
            raise OutsideValidity("volume of all but the water", excess_ml + fill_ml, 0.0, fill_ml, "mL")
        nearer_excess_ml = volume_at(nearer_g) - fill_ml
        slope = (nearer_excess_ml - excess_ml) / (nearer_g - water_g)
        water_g, excess_ml = nearer_g, nearer_excess_ml
    return water_g

"""How much acid water holds, and when potassium tartrate comes out."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log

from service.science.acids.equilibrium import balanced, pools_of
from service.science.acids.products import ACIDS
from service.science.acids.solvent import solvent
from service.science.band import Band
from service.science.constants import ZERO_CELSIUS_K
from service.science.tables import known, rows, value_at
from service.science.validity import OutsideValidity

NEAR_SATURATION = 0.9
"""Above this share of saturation a solution is likely to drop crystals when it cools; common practice, no source."""


@dataclass(frozen=True)
class _Equation:
    """ln m = a + b/T + c ln T, m in mol of acid in a kilogram of water."""

    a: float
    b: float
    c: float
    range_c: tuple[float, float]

    def percent_ww(self, acid: str, temperature_c: float) -> float:
        kelvin = temperature_c + ZERO_CELSIUS_K
        grams = exp(self.a + self.b / kelvin + self.c * log(kelvin)) * ACIDS[acid].molar_mass_g_per_mol
        return 100.0 * grams / (1000.0 + grams)


def _equations() -> dict[str, _Equation]:
    return {
        known("acid_solubility_equations", row["acid"], ACIDS): _Equation(
            float(row["a"]), float(row["b"]), float(row["c"]), (float(row["from_c"]), float(row["to_c"]))
        )
        for row in rows("acid_solubility_equations")
    }


def _points() -> dict[str, tuple[tuple[float, float], ...]]:
    points: dict[str, list[tuple[float, float]]] = {}
    for row in rows("acid_solubility"):
        acid = known("acid_solubility", row["acid"], ACIDS)
        points.setdefault(acid, []).append((float(row["temperature_c"]), float(row["percent_ww"])))
    return {acid: tuple(sorted(curve)) for acid, curve in points.items()}


_EQUATIONS, _POINTS = _equations(), _points()


def solubility_is_known(acid: str) -> bool:
    """Tell whether anything is known of how much of an acid water holds."""
    return ACIDS[acid].is_miscible or acid in _EQUATIONS or acid in _POINTS


def solubility_percent_ww(acid: str, temperature_c: float) -> float | None:
    """Strength of the saturated solution of one acid in water.

    acid: a key of ACIDS
    temperature_c: [degC]; citric 10 to 30, malic 4 to 40, tartaric 0 to 30, succinic 0 to 37.5, ascorbic 20 only
    returns: [% w/w], or None for an acid that mixes with water at any strength, and where it is not known
    raises: OutsideValidity
    source: data/acid_solubility.csv, linear between its points, and data/acid_solubility_equations.csv
    """
    if ACIDS[acid].is_miscible or not solubility_is_known(acid):
        return None
    equation, curve = _EQUATIONS.get(acid), _POINTS.get(acid, ())
    low, high = equation.range_c if equation is not None else (curve[0][0], curve[-1][0])
    if not low <= temperature_c <= high:
        raise OutsideValidity(f"temperature for the solubility of {acid} acid", temperature_c, low, high, "degC")
    if equation is not None:
        return equation.percent_ww(acid, temperature_c)
    if len(curve) == 1:
        return curve[0][1]
    return value_at(curve, temperature_c)


def saturation(acid_g: Mapping[str, float], water_g: float, temperature_c: float) -> dict[str, float]:
    """Strength of each acid over that of its saturated solution; compare with NEAR_SATURATION.

    Each acid is taken with all the water and without the others, so a crowded blend may be nearer than this says.

    acid_g: pure acid by name [g]; water_g: all the water [g], more than 0
    temperature_c: coldest storage [degC], ranges as `solubility_percent_ww`
    returns: 1 is saturated; miscible acids are left out, and those whose solubility is not known
    raises: OutsideValidity
    """
    shares = {}
    for acid, grams in acid_g.items():
        most = solubility_percent_ww(acid, temperature_c)
        if most is not None:
            shares[acid] = 100.0 * grams / (grams + water_g) / most
    return shares


KHT_G_PER_MOL = 188.176
"""Potassium hydrogen tartrate KC4H5O6 [g/mol]; CIAAW abridged standard atomic weights 2021."""

KHT_SOLUBILITY_SPREAD = 0.20
"""Published solubilities at one temperature spread by about this much either side."""

_KHT_G_PER_L_25C = 6.42  # 0.0341 mol/kg, the saturated pH standard at 25 degC; from memory
_KHT_KELVIN = 3345.0  # from memory, after Berg & Keefer 1958
_KHT_PER_ABV = 0.048  # from memory, after Berg & Keefer 1958
_KHT_RANGE_C, _KHT_MAX_ABV = (0.0, 25.0), 20.0


def kht_solubility_g_per_l(temperature_c: float, abv: float) -> float:
    """Solubility of potassium hydrogen tartrate in water with ethanol.

    s = 6.42 exp(-3345 (1/T - 1/298.15)) exp(-0.048 abv)

    temperature_c: [degC], 0 to 25; abv: [% vol], 0 to 20
    returns: [g/L], within 20 %
    raises: OutsideValidity
    source: fitted from memory to Berg & Keefer 1958, Am. J. Enol. Vitic. 9:180, doi:10.5344/ajev.1958.9.4.180
    """
    low, high = _KHT_RANGE_C
    if not low <= temperature_c <= high:
        raise OutsideValidity("temperature", temperature_c, low, high, "degC")
    if not 0.0 <= abv <= _KHT_MAX_ABV:
        raise OutsideValidity("alcoholic strength", abv, 0.0, _KHT_MAX_ABV, "% vol")
    colder = 1.0 / (temperature_c + ZERO_CELSIUS_K) - 1.0 / (25.0 + ZERO_CELSIUS_K)
    return _KHT_G_PER_L_25C * exp(-_KHT_KELVIN * colder) * exp(-_KHT_PER_ABV * abv)


def tartrate_saturation(
    acid_mol_per_kg_water: Mapping[str, float],
    *,
    potassium_mol_per_kg: float,
    temperature_c: float,
    abv: float = 0.0,
    other_strong_cation_mol_per_kg: float = 0.0,
) -> Band:
    """Supersaturation of potassium hydrogen tartrate: S = a(K) a(HT) / Ksp, Ksp of the pure salt by the same model.

    Below 1 clear, 1 to 2 metastable, above 2 crystals are likely: haze, and gushing when carbonated.

    acid_mol_per_kg_water: all the acids [mol/kg water], range as `ph`
    potassium_mol_per_kg, other_strong_cation_mol_per_kg: [mol/kg water]
    temperature_c: coldest storage [degC], 0 to 25; abv: [% vol], 0 to 20
    returns: S; calcium tartrate is not covered, and juice or wine holds more than water does
    raises: OutsideValidity
    source: solubility Berg & Keefer 1958 as `kht_solubility_g_per_l`; activities Davies
    """
    strong = potassium_mol_per_kg + other_strong_cation_mol_per_kg
    drink = _potassium_times_bitartrate(acid_mol_per_kg_water, potassium_mol_per_kg, strong, temperature_c, abv)
    salt = kht_solubility_g_per_l(temperature_c, abv) / KHT_G_PER_MOL  # mol/L of so weak a solution is mol/kg

    def over(share: float) -> float:
        dissolved = salt * share
        return drink / _potassium_times_bitartrate({"tartaric": dissolved}, dissolved, dissolved, temperature_c, abv)

    return Band(over(1.0 + KHT_SOLUBILITY_SPREAD), over(1.0), over(1.0 - KHT_SOLUBILITY_SPREAD))


def _potassium_times_bitartrate(
    amounts: Mapping[str, float], potassium: float, strong: float, temperature_c: float, abv: float
) -> float:
    """a(K) a(HT) of a solution [(mol/kg)^2]."""
    pools = pools_of(amounts, temperature_c=temperature_c, abv=abv)
    state = balanced(pools, strong, solvent(temperature_c, abv))
    tartaric = pools_of({"tartaric": amounts.get("tartaric", 0.0)}, temperature_c=temperature_c, abv=abv)
    bitartrate = sum(pool.mol_per_kg * pool.first_ion_share(state.h, state.gamma) for pool in tartaric)
    return potassium * bitartrate * state.gamma[1] ** 2

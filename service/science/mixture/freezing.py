"""The temperature at which ice begins to form in a drink, and the share of its water that is ice below that."""

from bisect import bisect_left
from collections.abc import Mapping
from math import sqrt

from service.science.band import Band
from service.science.mixture.composition import Masses
from service.science.tables import rows
from service.science.validity import OutsideValidity

Curve = tuple[tuple[float, ...], tuple[float, ...]]
"""Molality [mol per kg of water], rising, and the depression of the freezing point there [degC]."""


def _curve(solute: str) -> Curve:
    of_solute = [row for row in rows("freezing_curves") if row["solute"] == solute]
    molalities = (0.0, *(float(row["molality_mol_per_kg"]) for row in of_solute))
    return molalities, (0.0, *(-float(row["freezing_point_c"]) for row in of_solute))


_CITRIC_MOST = 2.231  # mol/kg, 30 % by mass, where the CRC table of citric acid ends
_CURVES: Mapping[str, Curve] = {
    "ethanol": _curve("ethanol"),
    "sucrose": _curve("sucrose"),
    "hexoses": _curve("glucose"),
    "acid": ((0.0, _CITRIC_MOST), (0.0, 1.95 * _CITRIC_MOST)),  # 1.95 degC kg/mol: fit to citric acid, estimate
    "salt": _curve("sodium chloride"),
}

_G_PER_MOL: Mapping[str, float] = {
    "ethanol": 46.068,
    "sucrose": 342.297,
    "hexoses": 180.156,
    "acid": 192.123,  # citric, anhydrous
    "salt": 58.443,
}
"""Molar masses [g/mol]; IUPAC standard atomic weights."""


def freezing_point_c(masses: Masses) -> float:
    """Temperature of the first ice crystal.

    Each solute's depression dT_i is read at its molality in all the water of the drink, then
    ln a_w = sum_i -(9.687e-3 dT_i + 4.76e-6 dT_i^2), and solved back for the dT of the drink.

    masses: up to 68 % ethanol, 42 % sucrose, 30 % hexose, 30 % acid, 23.3 % salt by mass, each as if alone in the
        water; hexoses freeze as glucose, acid as citric, salt as NaCl
    returns: T_f [degC]; the rule for mixtures is tested from outside only at dilution, see `freezing_point`. Dissolved
        CO2 is left out: 7 g/L of it would lower T_f by 0.3 degC (1.858 degC kg/mol), which is on the safe side
    raises: OutsideValidity
    source: curves of the CRC Handbook, 102nd ed. 2021 (Wolf 1966), the eutectic of salt of Lange's Handbook, 15th ed.
        1999; ln a_w: Robinson and Stokes, Electrolyte Solutions, 1959; product of activities: Ross 1975, J. Food
        Sci. 40, 26
    """
    if not masses.water_g > 0.0:
        raise OutsideValidity("mass fraction of water", masses.water_g, 0.32, 1.0, "g/g")
    molalities = _molalities(masses, masses.water_g)
    for solute, molality in molalities.items():
        most = _CURVES[solute][0][-1]
        if not 0.0 <= molality <= most * _ROUNDED:
            raise OutsideValidity(f"{solute} in the water", molality, 0.0, most, "mol/kg")
    return -_depression(molalities)


def freezing_point(masses: Masses) -> Band:
    """Freezing point [degC] give or take a tenth of the depression.

    The sources of ethanol differ by up to 8 %, and 5 to 10 % is expected of the rule for mixtures: an estimate, since
    no measured freezing points of ethanol with sugar were found to test it.
    See `freezing_point_c`.
    """
    T_f = freezing_point_c(masses)
    return Band(1.1 * T_f, T_f, 0.9 * T_f)


MOST_SWING_C = 2.0
"""Most that cold places fall below their usual temperature: freezers, salted ice, glycol, a fridge with a cold plate
[degC]; common practice, no source."""


def lowest_safe_c(masses: Masses, swing_c: float = MOST_SWING_C) -> float:
    """Coldest temperature at which a drink may be kept without risk of ice.

    T_f + max(swing, 0.15 |T_f|): what chills it, and the spread of the sources (estimate)

    swing_c: how far below its temperature the cold place goes, see `Environment` [degC]; 0 in melting ice
    returns: temperature [degC]
    raises: OutsideValidity, as `freezing_point_c`
    """
    T_f = freezing_point_c(masses)
    return T_f + max(swing_c, 0.15 * abs(T_f))


def ice_percent(masses: Masses, temperature_c: float) -> float:
    """Share of a drink's water that is ice once it has come to equilibrium, by mass; a drink may supercool instead.

    T_f(drink with only the water that is left) = T

    temperature_c: T [degC], -40 to 40
    returns: ice [% of the water]. Where the liquid left is past the end of a solute's curve, the last slope of that
        curve is carried on: this overstates the ice in sweet, weak drinks by about one part in a hundred
    raises: OutsideValidity, as `freezing_point_c`
    """
    if not -40.0 <= temperature_c <= 40.0:
        raise OutsideValidity("temperature", temperature_c, -40.0, 40.0, "degC")
    if temperature_c >= freezing_point_c(masses):
        return 0.0
    none, left = 0.0, 1.0  # shares of the water between which the liquid water lies
    while left - none > 1e-9:
        half = (none + left) / 2.0
        if -_depression(_molalities(masses, half * masses.water_g)) > temperature_c:
            left = half
        else:
            none = half
    return 100.0 * (1.0 - left)


def _depression(molalities: Mapping[str, float]) -> float:
    """Depression of the freezing point [degC], by mol per kg of water; past a curve's end on its last slope."""
    minus_ln_aw = 0.0
    for solute, molality in molalities.items():
        dT = _read(_CURVES[solute], molality)
        minus_ln_aw += _RS1 * dT + _RS2 * dT**2
    return (sqrt(_RS1**2 + 4.0 * _RS2 * minus_ln_aw) - _RS1) / (2.0 * _RS2)


_ROUNDED = 1.0 + 2e-4
"""Most that a curve's own printed percentage may come out past its last row: molalities are printed to 0.001 mol/kg,
and from molar masses of their time."""
_RS1, _RS2 = 9.687e-3, 4.76e-6  # Robinson and Stokes 1959


def _molalities(masses: Masses, water_g: float) -> dict[str, float]:
    """Mol of each solute per kg of water."""
    grams = {
        "ethanol": masses.ethanol_g,
        "sucrose": masses.sucrose_g,
        "hexoses": masses.hexose_g,
        "acid": masses.acid_g,
        "salt": masses.salt_g,
    }
    return {solute: 1000.0 * g / _G_PER_MOL[solute] / water_g for solute, g in grams.items()}


def _read(curve: Curve, molality: float) -> float:
    """Return the value of a curve at a molality, straight between its points."""
    m, dT = curve
    i = min(max(bisect_left(m, molality), 1), len(m) - 1)
    return dT[i - 1] + (dT[i] - dT[i - 1]) * (molality - m[i - 1]) / (m[i] - m[i - 1])

"""The gas equations beside print: what each table states, worked out with the model."""

from collections.abc import Callable, Iterable
from math import sqrt

from CoolProp.CoolProp import PropsSI

from service.science.gas import (
    Liquid,
    co2_solubility_mol_per_l_atm,
    compressibility,
    cylinder_pressure_bar_abs,
    dissolved_co2_g_per_l,
    effective_solubility_mol_per_l_bar,
    second_virial_cm3_per_mol,
    standard_atmosphere_bar,
    sugar_factor,
    vapour_pressure_bar,
    water_vapour_bar,
)
from service.science.vessel import State, at_rest, balance, contents, warmed
from tests.published import published

ATM = 1.01325
STP_L_PER_MOL = 22.2605  # CO2 at 0 degC, 1 atm; IUPAC-NIST Solubility Database SRD 106, note c
WATER_KG_PER_MOL = 0.0180153
R = 0.0831446
CO2_G_PER_MOL = 44.0095
PSI_BAR = 0.0689476

WATER_TABLES = {
    "murray-riley-1971": ["bunsen"],
    "crc": ["1000x_at_100kPa"],
    "carroll-1991": ["H_molefrac_MPa"],
    "iapws-g7-04": ["H_molefrac_MPa"],
    "sander-2023": ["Hcp"],
    "shedlovsky-macinnes-1935": ["ostwald"],
    "findlay-shen-1912": ["ostwald"],
    "harned-davis-1943": ["K0_molal"],
    "phreeqc": ["K0_molal"],
    "van-slyke-1939": ["bunsen"],
    "kunerth-1922": ["ostwald"],
    "bohr-1899": ["bunsen"],
}


def _level_mol_per_l(liquid: Liquid, co2_bar: float) -> float:
    """Level under pure CO2 of this partial pressure."""
    s = effective_solubility_mol_per_l_bar(liquid, pressure_bar_abs=co2_bar, co2_share=1.0)
    return s * co2_bar


def bunsen(liquid: Liquid) -> float:
    """Litres of gas at 0 degC, 1 atm, taken up by a litre at 1 atm of CO2."""
    return _level_mol_per_l(liquid, ATM) * STP_L_PER_MOL


def ostwald(temperature_c: float) -> float:
    """Litres of gas, as it is there, taken up by a litre of water."""
    gas_mol_per_l = ATM / (compressibility(temperature_c, ATM, 1.0) * R * (temperature_c + 273.15))
    return _level_mol_per_l(Liquid(temperature_c), ATM) / gas_mol_per_l


def water_kg_per_l(temperature_c: float) -> float:
    T = max(temperature_c, 0.01) + 273.15  # CoolProp knows the liquid from the triple point up
    return float(PropsSI("D", "T", T, "P", 101325.0, "Water")) / 1000.0


def _mole_fraction_x1000(temperature_c: float) -> float:
    level = _level_mol_per_l(Liquid(temperature_c), 1.0)
    return 1000.0 * level / (level + water_kg_per_l(temperature_c) / WATER_KG_PER_MOL)


def _henry_mole_fraction_mpa(temperature_c: float) -> float:
    level_per_mpa = co2_solubility_mol_per_l_atm(temperature_c) / 0.101325
    return water_kg_per_l(temperature_c) / WATER_KG_PER_MOL / level_per_mpa


IN_WATER: dict[str, Callable[[float], float]] = {
    "bunsen": lambda t: bunsen(Liquid(t)),
    "ostwald": ostwald,
    "1000x_at_100kPa": _mole_fraction_x1000,
    "H_molefrac_MPa": _henry_mole_fraction_mpa,
    "Hcp": lambda t: co2_solubility_mol_per_l_atm(t) * 1000.0 / 101325.0,
    "K0_molal": lambda t: co2_solubility_mol_per_l_atm(t) / water_kg_per_l(t),
}


def water_pairs(key: str) -> list[tuple[float, float]]:
    """(solubility by the model, by the source) in water; a Henry constant is turned over first."""
    pairs = []
    for quantity in WATER_TABLES[key]:
        for t, printed in published("co2_water.csv", "temperature_c", "value", key=key, quantity=quantity):
            model = IN_WATER[quantity](t)
            pairs.append((printed, model) if quantity == "H_molefrac_MPa" else (model, printed))
    return pairs


def wine_pairs(key: str) -> list[tuple[Liquid, float, float]]:
    """(liquid, solubility by the model, by the source) in water-ethanol and wine."""
    columns = ("temperature_c", "abv", "sugar_g_per_l", "value")
    quantity = "bunsen" if key == "mueller-1889" else "kH_gLbar"
    found = []
    for t, abv, sugar, printed in published("co2_ethanol_water.csv", *columns, key=key):
        liquid = Liquid(t, abv, sugar)
        model = bunsen(liquid) if quantity == "bunsen" else _level_mol_per_l(liquid, 1.0) * CO2_G_PER_MOL
        found.append((liquid, model, printed))
    return found


def beer_pairs() -> list[tuple[Liquid, float, float]]:
    """(liquid, volumes by the model, by the table) in beer of 5 %vol and 45 g/L extract."""
    found = []
    for f, psi, printed in published("co2_beer_table.csv", "temperature_f", "pressure_psi_gauge", "volumes"):
        liquid = Liquid((f - 32.0) / 1.8, abv=5.0, sucrose_g_per_l=45.0)
        level = dissolved_co2_g_per_l(liquid, pressure_bar_abs=ATM + psi * PSI_BAR)
        found.append((liquid, level / (CO2_G_PER_MOL / STP_L_PER_MOL), printed))
    return found


def usher_pairs() -> list[tuple[float, float]]:
    """(sugar factor by the model, by Usher); his own value in water is the denominator."""
    columns = ("temperature_c", "sugar_g_per_l", "value")
    (t0, _, water), *sweet = published("co2_sugar.csv", *columns, key="usher-1910")
    return [(bunsen(Liquid(t, sucrose_g_per_l=s)) / bunsen(Liquid(t0)), value / water) for t, s, value in sweet]


def eec_sugar_pairs() -> list[tuple[float, float]]:
    """(sugar factor by the model, by the regulation); theirs is stronger, and beer and Usher side against it."""
    table = published("co2_sugar.csv", "sugar_g_per_l", "value", key="eec-2676-90")
    return [(sugar_factor(sugar, 0.0), value) for sugar, value in table]


def _bottle(temperature_c: float, co2_bar: float) -> State:
    """A closed 75 cL bottle of sparkling wine at rest.

    12.5 %vol, 10 g/L sugar, 25 mL headspace: common practice, no source.
    """
    wine = Liquid(temperature_c, abv=12.5, sucrose_g_per_l=10.0)
    level = dissolved_co2_g_per_l(wine, pressure_bar_abs=co2_bar + wine.vapour_bar)
    return at_rest(wine, liquid_l=0.750, headspace_l=0.025, co2_g_per_l=level, air_mol=0.0)


def sparkling_pairs() -> list[tuple[float, float, float]]:
    """(degC, CO2 pressure by the model, as published) in one closed bottle, its level set at the coldest row."""
    (t0, p0), *warmer = published("sparkling_pressure.csv", "temperature_c", "value", key="liger-belair-2017")
    bottle = _bottle(t0, p0)
    return [(t, balance(contents(warmed(bottle, t))).co2_bar, p) for t, p in warmer]


def oiv_pairs() -> list[tuple[float, float, float]]:
    """(degC, pressure at 20 degC over that at t by the model, by the ratio table), absolute, one closed bottle."""
    bottle = _bottle(20.0, 7.0)
    at_20 = balance(contents(bottle)).pressure_bar_abs
    table = published("sparkling_pressure.csv", "temperature_c", "value", key="oiv-ratio")
    return [(t, at_20 / balance(contents(warmed(bottle, t))).pressure_bar_abs, ratio) for t, ratio in table]


def vapour_pairs() -> list[tuple[float, float, float]]:
    """(mole fraction of ethanol, vapour pressure by the model, as printed) [mbar] over water-ethanol at 25 degC."""
    found = []
    for x, ethanol_torr, water_torr in published("vapour_ethanol_water.csv", "x_ethanol", "ethanol_torr", "water_torr"):
        ethanol_ml, water_ml = x * 46.069 / 0.78924, (1.0 - x) * 18.015 / 0.99820
        abv = 100.0 * ethanol_ml / (ethanol_ml + water_ml)
        found.append((x, 1000.0 * vapour_pressure_bar(25.0, abv), 1.33322 * (ethanol_torr + water_torr)))
    return found


def geopotential_m(geometric_m: float) -> float:
    """Altitude as the equation of ISO 2533 takes it; nominal earth radius 6 356 766 m, ISO 2533 clause 2.3."""
    return 6_356_766.0 * geometric_m / (6_356_766.0 + geometric_m)


def atmosphere_pairs() -> list[tuple[float, float]]:
    """(pressure by the model, by the table) [hPa]."""
    table = published("standard_atmosphere.csv", "altitude_m", "pressure_hpa")
    return [(1000.0 * standard_atmosphere_bar(geopotential_m(h)), p) for h, p in table]


def saturation_bar(fluid: str, temperature_c: float) -> float:
    """Vapour pressure by CoolProp."""
    return float(PropsSI("P", "T", temperature_c + 273.15, "Q", 0, fluid)) / 1e5


def row(label: str, pairs: Iterable[tuple[float, float]]) -> tuple[str, int, float, float, float, str]:
    """Residuals of one table from its (model, print) pairs."""
    percent = [100.0 * (model / value - 1.0) for model, value in pairs]
    n = len(percent)
    return label, n, sum(percent) / n, max(map(abs, percent)), sqrt(sum(p * p for p in percent) / n), "%"


def gas_residuals() -> list[tuple[str, int, float, float, float, str]]:
    """Label, number of values, mean, largest, root mean square and unit, a row a source.

    The alcohol and sugar factors were fitted to the sources marked so, which disagree; their residuals show by how
    much, and are no test of the fit.
    """
    water = {key: water_pairs(key) for key in WATER_TABLES}
    wine = {
        "EEC 2676/90, 20 degC, 8-15 %vol": [p for p in wine_pairs("eec-2676-90") if 8.0 <= p[0].abv <= 15.0],
        "Champagne constants, 0-8 degC": [p for p in wine_pairs("champagne") if p[0].temperature_c <= 8.0],
        "Champagne constants, 10-25 degC": [p for p in wine_pairs("champagne") if p[0].temperature_c > 8.0],
        "Liger-Belair & Cilindre 2021": wine_pairs("liger-belair-2021"),
        "Mueller 1889, water-ethanol 20 degC": wine_pairs("mueller-1889"),
        "beer table, 0-8 degC": [p for p in beer_pairs() if p[0].temperature_c <= 8.0],
        "beer table, 10-16 degC": [p for p in beer_pairs() if p[0].temperature_c > 8.0],
    }
    virial = published("second_virial_kaye_laby.csv", "temperature_c", "b_cm3_per_mol")
    cylinder = [(cylinder_pressure_bar_abs(t), saturation_bar("CO2", t)) for t in range(-50, 31, 5)]
    vapour = [(water_vapour_bar(t), saturation_bar("Water", t)) for t in range(1, 41)]
    return [
        *(row(f"CO2 in water, {key}", pairs) for key, pairs in water.items()),
        row("CO2 in water, all", [pair for pairs in water.values() for pair in pairs]),
        *(row(f"CO2, fitted to: {label}", [pair[1:] for pair in pairs]) for label, pairs in wine.items()),
        row("CO2, fitted to: Usher 1910, sucrose 20 degC", usher_pairs()),
        row("wine sugar factor, EEC 2676/90 (not followed)", eec_sugar_pairs()),
        row("sparkling bottle, Liger-Belair et al. 2017", [pair[1:] for pair in sparkling_pairs()]),
        row("sparkling wine ratio to 20 degC, OIV", [pair[1:] for pair in oiv_pairs()]),
        row("second virial coefficient, Kaye & Laby", [(second_virial_cm3_per_mol(t), b) for t, b in virial]),
        row("CO2 saturation, CoolProp", cylinder),
        row("water vapour, CoolProp", vapour),
        row("vapour over water-ethanol, 25 degC", [pair[1:] for pair in vapour_pairs()]),
        row("standard atmosphere, 1976", atmosphere_pairs()),
    ]

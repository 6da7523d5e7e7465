"""The gas equations beside print: what each table states, worked out with the model."""

from collections.abc import Callable, Iterable
from math import exp, hypot, sqrt
from typing import NamedTuple

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
    "yeh-peterson-1964": ["ostwald"],
    "findlay-williams-1913": ["ostwald"],
}


class Residual(NamedTuple):
    """How far one source is from the model, and how often it lies in the band.

    role: "fitted", where the model's constants were fitted to it, "unseen" where not; empty where nothing is fitted
    mean, largest, rms: of model less print, in unit; coverage: share of the values inside the band, None without one
    """

    label: str
    n: int
    mean: float
    largest: float
    rms: float
    unit: str
    role: str = ""
    coverage: float | None = None


class Pair(NamedTuple):
    """One printed value. liquid: what it is of; model, value: the same quantity, both ways; spread: its band."""

    liquid: Liquid
    model: float
    value: float
    spread: float | None = None

    @property
    def inside(self) -> bool:
        """Tell if print lies in the band, by itself that of the level at a given pressure."""
        return abs(self.value / self.model - 1.0) <= (self.liquid.spread if self.spread is None else self.spread)


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


def water_band_pairs(key: str) -> list[Pair]:
    """`water_pairs` with the water that each is of."""
    warmth = [t for q in WATER_TABLES[key] for (t,) in published("co2_water.csv", "temperature_c", key=key, quantity=q)]
    return [Pair(Liquid(t), *pair) for t, pair in zip(warmth, water_pairs(key), strict=True)]


def level_g_per_l_bar(liquid: Liquid) -> float:
    """Level under one bar of CO2."""
    return _level_mol_per_l(liquid, 1.0) * CO2_G_PER_MOL


def wine_pairs(key: str) -> list[Pair]:
    """Solubility in water-ethanol, beer and wine."""
    columns = ("temperature_c", "abv", "sugar_g_per_l", "value")
    found = []
    for t, abv, sugar, printed in published("co2_ethanol_water.csv", *columns, key=key):
        liquid = Liquid(t, abv, sugar)
        found.append(Pair(liquid, bunsen(liquid) if key == "mueller-1889" else level_g_per_l_bar(liquid), printed))
    return found


def champagne_pairs() -> list[Pair]:
    """Champagne of 12.5 %vol and 10 g/L sugar, 0 to 25 degC.

    kH = 1.21 exp(dH/R (1/T - 1/298.15)) g/(L bar), dH = 24.8 kJ/mol; bar or atm is not certain (1.3 %)

    source: van 't Hoff fit of the table of Agabaliantz, Liger-Belair 2012, doi:10.1016/j.aca.2011.10.015; from memory
    """
    wines = [Liquid(float(t), abv=12.5, sucrose_g_per_l=10.0) for t in range(26)]
    heat_k = 24800.0 / 8.314463
    return [
        Pair(wine, level_g_per_l_bar(wine), 1.21 * exp(heat_k * (1.0 / (wine.temperature_c + 273.15) - 1.0 / 298.15)))
        for wine in wines
    ]


def regulation_pairs() -> list[Pair]:
    """Wine at 20 degC of 8 to 15 %vol, for which the formula is made, with sugar to 150 g/L.

    c = 1.951e-5 P (0.86 - 0.01 A) (1 - 0.00144 S) g/L, P in Pa

    source: Regulation (EEC) No 2676/90, chapter 37; read as its Dutch and German texts quote it
    """
    wines = [Liquid(20.0, float(a), float(s)) for a in range(8, 16) for s in (0, 10, 25, 50, 75, 100, 150)]
    return [
        Pair(
            wine,
            level_g_per_l_bar(wine),
            1.951 * (0.86 - 0.01 * wine.abv) * (1.0 - 0.00144 * wine.sucrose_g_per_l),
        )
        for wine in wines
    ]


def beer(temperature_c: float) -> Liquid:
    """The beer that printed charts are read at: 5.0 %vol, 45 g/L extract."""
    return Liquid(temperature_c, abv=5.0, sucrose_g_per_l=45.0)


def beer_pairs(key: str) -> list[Pair]:
    """Volumes in beer by temperature and gauge pressure."""
    found = []
    columns = ("temperature_f", "pressure_psi_gauge", "volumes")
    for f, psi, printed in published("co2_beer.csv", *columns, key=key):
        liquid = beer((f - 32.0) / 1.8)
        level = dissolved_co2_g_per_l(liquid, pressure_bar_abs=ATM + psi * PSI_BAR)
        found.append(Pair(liquid, level / (CO2_G_PER_MOL / STP_L_PER_MOL), printed))
    return found


def mebak_pairs() -> list[Pair]:
    """Beer of 12 % original extract, 80 % attenuated, at 0 to 8 degC and 0.5 to 2 bar gauge.

    CO2 = P exp(-10.73797 + 2617.25 / T) % by weight, P absolute [bar]; ten times that in g/L

    source: MEBAK, CO2 by pressure and temperature (Haffmans' formula); constants as the instruction manual of
        the ICC gauge prints them in appendix I (-10.74, 2617.25), read in a stored copy, and two more digits as
        quoted by brewers
    """
    found = []
    for t in range(9):
        for gauge in (0.5, 1.0, 1.5, 2.0):
            level = dissolved_co2_g_per_l(beer(t), pressure_bar_abs=ATM + gauge)
            found.append(Pair(beer(t), level, 10.0 * (ATM + gauge) * exp(-10.73797 + 2617.25 / (t + 273.15))))
    return found


def sugar_pairs(key: str) -> list[Pair]:
    """Sugar factor, times water: Usher's own value in water is his denominator."""
    columns = ("temperature_c", "sugar_g_per_l", "value")
    rows = published("co2_sugar.csv", *columns, key=key)
    water = next((value for _, sugar, value in rows if sugar == 0.0), 1.0)
    sweet = [(Liquid(t, sucrose_g_per_l=sugar), value / water) for t, sugar, value in rows if sugar > 0.0]
    return [Pair(liquid, liquid.henry / Liquid(liquid.temperature_c).henry, value) for liquid, value in sweet]


def _bottle(temperature_c: float, co2_bar: float) -> State:
    """A closed 75 cL bottle of sparkling wine at rest.

    12.5 %vol, 10 g/L sugar, 25 mL headspace: common practice, no source.
    """
    wine = Liquid(temperature_c, abv=12.5, sucrose_g_per_l=10.0)
    level = dissolved_co2_g_per_l(wine, pressure_bar_abs=co2_bar + wine.vapour_bar)
    return at_rest(wine, liquid_l=0.750, headspace_l=0.025, co2_g_per_l=level, air_mol=0.0)


def sparkling_pairs() -> list[Pair]:
    """CO2 pressure in one closed bottle, its level set at the coldest row."""
    (t0, p0), *warmer = published("sparkling_pressure.csv", "temperature_c", "value", key="liger-belair-2017")
    bottle = _bottle(t0, p0)
    hot = [(warmed(bottle, t), p) for t, p in warmer]
    return [_compared(bottle, state, balance(contents(state)).co2_bar, p) for state, p in hot]


def oiv_pairs() -> list[Pair]:
    """Pressure at 20 degC over that at t in one closed bottle, absolute; at 20 degC it is 1 whatever the model."""
    bottle = _bottle(20.0, 7.0)
    at_20 = balance(contents(bottle)).pressure_bar_abs
    table = published("sparkling_pressure.csv", "temperature_c", "value", key="oiv-ratio")
    states = [(warmed(bottle, t), ratio) for t, ratio in table if t != 20.0]
    return [_compared(bottle, s, at_20 / balance(contents(s)).pressure_bar_abs, ratio) for s, ratio in states]


def _compared(one: State, other: State, model: float, value: float) -> Pair:
    """A ratio of the same bottle at two temperatures, each of which has a band of its own."""
    return Pair(other.liquid, model, value, hypot(one.liquid.spread, other.liquid.spread))


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


def row(label: str, pairs: Iterable[tuple[float, float]]) -> Residual:
    """Residuals of one table from its (model, print) pairs."""
    percent = [100.0 * (model / value - 1.0) for model, value in pairs]
    n = len(percent)
    return Residual(label, n, sum(percent) / n, max(map(abs, percent)), sqrt(sum(p * p for p in percent) / n), "%")


def band_row(label: str, role: str, pairs: Iterable[Pair]) -> Residual:
    """The same with the coverage of the band."""
    found = list(pairs)
    share = sum(pair.inside for pair in found) / len(found)
    return row(label, [(p.model, p.value) for p in found])._replace(role=role, coverage=share)


def _by_warmth(pairs: Iterable[Pair]) -> tuple[list[Pair], list[Pair]]:
    """To 8 degC, and warmer."""
    found = list(pairs)
    return [p for p in found if p.liquid.temperature_c <= 8.0], [p for p in found if p.liquid.temperature_c > 8.0]


def families() -> dict[str, list[tuple[str, str, list[Pair]]]]:
    """Label, role and pairs of each source of the solubility, by family."""
    chart_cold, chart_warm = _by_warmth(beer_pairs("us-chart"))
    fit_cold, fit_warm = _by_warmth(beer_pairs("delange-2011"))
    lager, champagne_10 = sorted(wine_pairs("liger-belair-2021"), key=lambda pair: pair.liquid.abv)
    return {
        "water": [(f"water, {key}", "unseen", water_band_pairs(key)) for key in WATER_TABLES],
        "beer to 8 degC": [
            ("beer, Miller 1994", "fitted", beer_pairs("miller-1994")),
            ("beer, chart of the US trade, to 8 degC", "fitted", chart_cold),
            ("beer, MEBAK", "fitted", mebak_pairs()),
            ("beer, deLange 2011, to 8 degC", "unseen", fit_cold),
            ("lager, Liger-Belair & Cilindre 2021", "unseen", [lager]),
        ],
        "beer over 8 degC": [
            ("beer, chart of the US trade, over 8 degC", "fitted", chart_warm),
            ("beer, deLange 2011, over 8 degC", "unseen", fit_warm),
        ],
        "wine at 20 degC": [("wine, EEC 2676/90", "fitted", regulation_pairs())],
        "Champagne": [
            ("Champagne constants, 0-25 degC", "fitted", champagne_pairs()),
            ("Champagne, Liger-Belair & Cilindre 2021", "unseen", [champagne_10]),
        ],
        "water-ethanol": [("water-ethanol, Mueller 1889", "fitted", wine_pairs("mueller-1889"))],
        "sugar": [
            ("sucrose, Usher 1910", "fitted", sugar_pairs("usher-1910")),
            ("soft drinks, 1 % a degree Brix", "fitted", sugar_pairs("soft-drinks")),
        ],
        "sparkling wine by temperature": [
            ("sparkling wine, Liger-Belair et al. 2017", "fitted", sparkling_pairs()),
            ("sparkling wine, OIV ratios to 20 degC", "fitted", oiv_pairs()),
        ],
    }


def gas_residuals() -> list[Residual]:
    """A row a source, then a row a family and one over all."""
    found = families()
    sums = {f"{name}, together": [p for *_, pairs in sources for p in pairs] for name, sources in found.items()}
    everything = [pair for pairs in sums.values() for pair in pairs]
    virial = published("second_virial_kaye_laby.csv", "temperature_c", "b_cm3_per_mol")
    cylinder = [(cylinder_pressure_bar_abs(t), saturation_bar("CO2", t)) for t in range(-50, 31, 5)]
    vapour = [(water_vapour_bar(t), saturation_bar("Water", t)) for t in range(1, 41)]
    return [
        *(band_row(f"CO2 in {label}", role, pairs) for sources in found.values() for label, role, pairs in sources),
        *(band_row(f"CO2 in {label}", "", pairs) for label, pairs in sums.items()),
        band_row("CO2, all families together", "", everything),
        row("second virial coefficient, Kaye & Laby", [(second_virial_cm3_per_mol(t), b) for t, b in virial]),
        row("CO2 saturation, CoolProp", cylinder),
        row("water vapour, CoolProp", vapour),
        row("vapour over water-ethanol, 25 degC", [pair[1:] for pair in vapour_pairs()]),
        row("standard atmosphere, 1976", atmosphere_pairs()),
    ]

"""How much CO2 a drink takes up, by temperature, alcohol and sugar, and how well that is known."""

from dataclasses import dataclass, field
from functools import lru_cache
from math import exp, hypot, log, sqrt

from service.errors import OutsideValidity
from service.science.constants import ATMOSPHERE_BAR, ZERO_CELSIUS_K
from service.science.gas.phase import GasPhase, gas_phase
from service.science.gas.vapour import air_solubility_mol_per_l_bar, vapour_pressure_bar


@dataclass(slots=True)
class Liquid:
    """What CO2 dissolves in. Never changed once made.

    solubility_factor: this bar's own reading over the model's, or an end of the band; 0.5 to 1.6
    known_spread: how well that reading is known, relative half-width, about 90 %; None where it is the model's own
    raises: OutsideValidity where one of the coefficients is out of its range
    """

    temperature_c: float
    abv: float = 0.0
    sucrose_g_per_l: float = 0.0
    hexose_g_per_l: float = 0.0
    solubility_factor: float = 1.0
    known_spread: float | None = None

    # Worked out once a liquid: loops over pressure ask for them at every pass.
    gas: GasPhase = field(init=False, repr=False, compare=False)
    """The gas above, at this temperature."""
    henry: float = field(init=False, repr=False, compare=False)
    """K [mol/(L bar)] on fugacity, see `henry_mol_per_l_bar`."""
    vapour_bar: float = field(init=False, repr=False, compare=False)
    """Vapour pressure of water and ethanol [bar]."""
    air_solubility: float = field(init=False, repr=False, compare=False)
    """Henry coefficient of air [mol/(L bar)]."""
    spread: float = field(init=False, repr=False, compare=False)
    """Relative half-width of the CO2 level at a given pressure, see `solubility_spread`."""

    def __post_init__(self) -> None:
        self.gas = gas_phase(self.temperature_c)
        self.henry = henry_mol_per_l_bar(self)
        self.vapour_bar = vapour_pressure_bar(self.temperature_c, self.abv)
        self.air_solubility = air_solubility_mol_per_l_bar(self.temperature_c)
        self.spread = solubility_spread(self)

    def at(self, temperature_c: float) -> "Liquid":
        """The same liquid at another temperature."""
        return self._with(temperature_c, self.solubility_factor)

    def scaled(self, ratio: float) -> "Liquid":
        """The same liquid with its solubility multiplied, for the ends of a band."""
        return self._with(self.temperature_c, self.solubility_factor * ratio)

    def _with(self, temperature_c: float, factor: float) -> "Liquid":
        return Liquid(
            temperature_c, self.abv, self.sucrose_g_per_l, self.hexose_g_per_l, factor, self.known_spread
        )  # `dataclasses.replace` takes three times as long, and bands ask for many

    @property
    def less_soluble(self) -> "Liquid":
        """The lower end of its band."""
        return self.scaled(1.0 - self.spread)

    @property
    def more_soluble(self) -> "Liquid":
        """The upper end of its band."""
        return self.scaled(1.0 + self.spread)

    def solubility(self, pressure_bar_abs: float, co2_share: float) -> float:
        """s [mol/(L bar)] with no check of range, for loops; else `effective_solubility_mol_per_l_bar`."""
        # `GasPhase.ln_phi` and `ln_poynting` written out: the innermost loop is here
        gas, x = self.gas, 1.0 - co2_share
        ln_phi = (gas.B + 2.0 * x * x * gas.delta) * pressure_bar_abs
        return self.henry * exp(ln_phi + gas.v * (ATMOSPHERE_BAR - pressure_bar_abs))


@lru_cache(maxsize=64)  # a band and its judgement ask for the same temperatures again and again
def co2_solubility_mol_per_l_atm(temperature_c: float) -> float:
    """Henry coefficient of CO2 in pure water, on fugacity.

    ln K0 = A1 + A2 (100/T) + A3 ln(T/100)

    temperature_c: water [degC], -1 to 40
    returns: K0 [mol/(L atm)]
    raises: OutsideValidity; never extrapolates
    source: Weiss 1974, doi:10.1016/0304-4203(74)90015-2, table 1
    """
    if not -1.0 <= temperature_c <= 40.0:
        raise OutsideValidity("temperature", temperature_c, -1.0, 40.0, "degC")
    T = temperature_c + ZERO_CELSIUS_K
    return exp(-58.0931 + 90.5069 * (100.0 / T) + 22.2940 * log(T / 100.0))


def ethanol_factor(abv: float) -> float:
    """How alcohol changes the solubility; lowest at 22.6 %vol, so not monotonic. Least certain part of the model.

    fE = exp(-0.0103 A + 2.28e-4 A^2)

    abv: A [%vol], 0 to 40; above 30 the fit rests on little
    returns: factor
    raises: OutsideValidity
    source: fitted to the Champagne constants of Agabaliantz, Regulation (EEC) 2676/90 chapter 37, a beer table
        of the ASBC type and Mueller 1889; they disagree among themselves, see `solubility_spread`
    """
    if not 0.0 <= abv <= 40.0 + 1e-9:  # what going by masses and back adds
        raise OutsideValidity("alcoholic strength", abv, 0.0, 40.0, "%vol")
    return exp(-0.0103 * abv + 2.28e-4 * abv**2)


def sugar_factor(sucrose_g_per_l: float, hexose_g_per_l: float) -> float:
    """How sugar lowers the solubility.

    fS = exp(-8.6e-4 S_sucrose - 10.3e-4 S_hexose)

    sucrose_g_per_l: sucrose, or sugar of unknown kind [g per L of drink]
    hexose_g_per_l: glucose and fructose [g per L of drink]; together 0 to 400
    returns: factor
    raises: OutsideValidity
    source: fitted to Usher 1910, J. Chem. Soc. 97:66; the hexose coefficient is an estimate that nothing outside tests
    """
    total = sucrose_g_per_l + hexose_g_per_l
    if not (sucrose_g_per_l >= 0.0 and hexose_g_per_l >= 0.0 and total <= 400.0):
        raise OutsideValidity("sugar", total, 0.0, 400.0, "g/l")
    return exp(-8.6e-4 * sucrose_g_per_l - 10.3e-4 * hexose_g_per_l)


def henry_mol_per_l_bar(liquid: Liquid) -> float:
    """Henry coefficient of CO2 in the drink, on fugacity.

    K = K0 fE fS cal / 1.01325

    returns: K [mol/(L bar)]
    raises: OutsideValidity
    source: product of `co2_solubility_mol_per_l_atm`, `ethanol_factor` and `sugar_factor`; acids and salts, about
        -1 %, are not modelled
    """
    # 0.8 to 1.2 for a bar's own reading, times the widest band of `solubility_spread`
    if not 0.5 <= liquid.solubility_factor <= 1.6:
        raise OutsideValidity("solubility factor", liquid.solubility_factor, 0.5, 1.6, "")
    K0 = co2_solubility_mol_per_l_atm(liquid.temperature_c)
    composition = ethanol_factor(liquid.abv) * sugar_factor(liquid.sucrose_g_per_l, liquid.hexose_g_per_l)
    return K0 / ATMOSPHERE_BAR * composition * liquid.solubility_factor


def solubility_spread(liquid: Liquid) -> float:
    """Relative half-width, about 90 %, of the CO2 level at a given pressure.

    Root of the squares of the part of alcohol and the part of sugar, and never less than the 2 % of plain water.
    Steps are taken at the end of each range, the end included. Above 25 degC the alcohol data stop: sugar alone gets
    12 % there, and alcohol 12 % + 0.6 % a degree, because the Champagne constants leave the model the faster the
    warmer it is (by 0, 1.8, 5.2 and 9.6 % at 0, 10, 18 and 25 degC).

    A bar's own reading takes the place of what the model knows of a cold drink, where it was made. Warmer, what the
    model knows less there than in the cold is added to it, again by the root of the squares.

    returns: 0.02 to 0.24, which is reached at 40 degC, where the solubility in water ends; with a reading of its own,
        from that of the reading on
    source: disagreement of the families named at `ethanol_factor` and `sugar_factor` with the model; above 25 degC
        that trend, carried on: an estimate
    """
    here = _model_spread(liquid, liquid.temperature_c)
    if liquid.known_spread is None:
        return here
    cold = _model_spread(liquid, min(liquid.temperature_c, _READ_AT_MOST_C))
    return hypot(liquid.known_spread, sqrt(here * here - cold * cold))


_READ_AT_MOST_C = 8.0
"""A bar reads its drinks as cold as it charges them, where the spread does not change with temperature [degC]."""


def _model_spread(liquid: Liquid, temperature_c: float) -> float:
    sugar = _sugar_spread(liquid.sucrose_g_per_l + liquid.hexose_g_per_l)
    alcohol = _alcohol_spread(liquid.abv, temperature_c)
    over_c = temperature_c - 25.0
    if over_c > 0.0 and (alcohol or sugar):
        alcohol = max(alcohol, 0.12 + 0.006 * over_c if alcohol else 0.12)
    return max(0.02, hypot(alcohol, sugar))


def _sugar_spread(sugar_g_per_l: float) -> float:
    if sugar_g_per_l <= 0.0:
        return 0.0
    return 0.03 if sugar_g_per_l <= 50.0 else 0.07 if sugar_g_per_l <= 150.0 else 0.12


def _alcohol_spread(abv: float, temperature_c: float) -> float:
    if abv <= 0.0:
        return 0.0
    if abv <= 15.0:
        return 0.05 if temperature_c <= 8.0 else 0.10
    return 0.13 if abv <= 30.0 else 0.15  # 0.13: Regulation (EEC) 2676/90 is 12.2 % lower at 18 %vol

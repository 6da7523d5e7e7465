"""How much CO2 a drink takes up, by temperature, alcohol and sugar, and how well that is known."""

from dataclasses import dataclass, field
from functools import lru_cache
from math import exp, hypot, log, sqrt
from typing import Final

from service.science.constants import ATMOSPHERE_BAR, ZERO_CELSIUS_K
from service.science.gas.phase import GasPhase, gas_phase
from service.science.gas.vapour import air_solubility_mol_per_l_bar, vapour_pressure_bar
from service.science.validity import OutsideValidity


@dataclass(slots=True)
class Liquid:
    """The liquid that CO2 dissolves in. Never changed once made.

    solubility_factor: this bar's own reading over the model's, or an end of the band; 0.5 to 1.6
    known_spread: how well that reading is known, relative half-width, about 90 %; None where it is the model's own
    raises: OutsideValidity where one of the coefficients is out of its range; water without anything in it ends at
        -0.5 degC, where it is ice
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
        """The liquid at the lower end of the band of its solubility."""
        return self.scaled(1.0 - self.spread)

    @property
    def more_soluble(self) -> "Liquid":
        """The liquid at the upper end of the band of its solubility."""
        return self.scaled(1.0 + self.spread)

    def solubility(self, pressure_bar_abs: float, co2_share: float) -> float:
        """s [mol/(L bar)] with no check of range, for loops; else `effective_solubility_mol_per_l_bar`."""
        # `GasPhase.ln_phi` and `ln_poynting` written out: the innermost loop is here
        gas, x = self.gas, 1.0 - co2_share
        ln_phi = (gas.B + 2.0 * x * x * gas.delta) * pressure_bar_abs
        return self.henry * exp(ln_phi + gas.v * (ATMOSPHERE_BAR - pressure_bar_abs))


COLDEST_C: Final = -8.0
"""Where the solubility in a drink begins [degC]. Measured from about 0 on; below, it is carried on for drinks that stay
liquid, with a band that grows."""
WARMEST_C: Final = 40.0
"""Where it ends, as Weiss 1974 does [degC]."""
WATER_COLDEST_C: Final = -0.5
"""Where water without anything in it ends [degC]."""


@lru_cache(maxsize=64)  # a band and its judgement ask for the same temperatures again and again
def co2_solubility_mol_per_l_atm(temperature_c: float) -> float:
    """Henry coefficient of CO2 in pure water, on fugacity.

    ln K0 = A1 + A2 (100/T) + A3 ln(T/100)

    temperature_c: water [degC], -1 to 40 by the source; on to -8, for drinks that stay liquid, the equation is carried
        on past its measurements
    returns: K0 [mol/(L atm)]
    raises: OutsideValidity
    source: Weiss 1974, doi:10.1016/0304-4203(74)90015-2, table 1
    """
    if not COLDEST_C <= temperature_c <= WARMEST_C:
        raise OutsideValidity("temperature", temperature_c, COLDEST_C, WARMEST_C, "degC")
    T = temperature_c + ZERO_CELSIUS_K
    return exp(-58.0931 + 90.5069 * (100.0 / T) + 22.2940 * log(T / 100.0))


def ethanol_factor(abv: float, temperature_c: float) -> float:
    """Return how alcohol changes the solubility; least certain part of the model.

    fE = exp(-(0.225 + 0.0037 t) h),  h = A^4 / (10^4 + A^4) (1 - A/50)

    Next to nothing up to 5 %vol, where beer has 1 to 2 % less than water; deepest at about 16 %vol; less from there,
    since spirits take up more again. The effect grows with the temperature, as it does in Champagne.

    abv: A [%vol], 0 to 40; above 30 the fit rests on little
    temperature_c: t [degC], -8 to 40; below 0 and above 25 the fit is carried on
    returns: factor
    raises: OutsideValidity
    source: fitted to tables of carbonated beer (Miller 1994; MEBAK; a chart of the US trade), the Champagne constants
        of Agabaliantz, Regulation (EEC) 2676/90 chapter 37 and Mueller 1889, each family with a weight of its own;
        they disagree among themselves, see `solubility_spread`
    """
    if not 0.0 <= abv <= 40.0 + 1e-9:  # what going by masses and back adds
        raise OutsideValidity("alcoholic strength", abv, 0.0, 40.0, "%vol")
    a4 = (abv * abv) ** 2
    return exp(-(0.225 + 0.0037 * temperature_c) * a4 / (1e4 + a4) * (1.0 - abv / 50.0))


def sugar_factor(sucrose_g_per_l: float, hexose_g_per_l: float) -> float:
    """Return how sugar lowers the solubility.

    fS = exp(-10.0e-4 S_sucrose - 12.0e-4 S_hexose)

    sucrose_g_per_l: sucrose, or sugar of unknown kind [g per L of drink]
    hexose_g_per_l: glucose and fructose [g per L of drink]; together 0 to 400
    returns: factor
    raises: OutsideValidity
    source: between Usher 1910, J. Chem. Soc. 97:66 (8.6e-4), and the factor for wine of Regulation (EEC) 2676/90 (14 to
        16e-4), where the rule for soft drinks lies that an instrument maker prints (1 % a degree Brix); the hexose
        coefficient is an estimate that nothing outside tests
    """
    total = sucrose_g_per_l + hexose_g_per_l
    if not (sucrose_g_per_l >= 0.0 and hexose_g_per_l >= 0.0 and total <= 400.0):
        raise OutsideValidity("sugar", total, 0.0, 400.0, "g/l")
    return exp(-10.0e-4 * sucrose_g_per_l - 12.0e-4 * hexose_g_per_l)


def henry_mol_per_l_bar(liquid: Liquid) -> float:
    """Return the Henry coefficient of CO2 in the drink, on fugacity.

    K = K0 fE fS cal / 1.01325

    returns: K [mol/(L bar)]
    raises: OutsideValidity
    source: product of `co2_solubility_mol_per_l_atm`, `ethanol_factor` and `sugar_factor`; acids and salts, about
        -1 %, are not modelled
    """
    # 0.8 to 1.2 for a bar's own reading, times the widest band of `solubility_spread`
    if not 0.5 <= liquid.solubility_factor <= 1.6:
        raise OutsideValidity("solubility factor", liquid.solubility_factor, 0.5, 1.6, "")
    temperature_c, abv, sucrose, hexose = (
        liquid.temperature_c, liquid.abv, liquid.sucrose_g_per_l, liquid.hexose_g_per_l,
    )  # fmt: skip
    if temperature_c < WATER_COLDEST_C and abv + sucrose + hexose == 0.0:
        raise OutsideValidity("temperature", temperature_c, WATER_COLDEST_C, WARMEST_C, "degC")
    K0 = co2_solubility_mol_per_l_atm(temperature_c)
    composition = ethanol_factor(abv, temperature_c) * sugar_factor(sucrose, hexose)
    return K0 / ATMOSPHERE_BAR * composition * liquid.solubility_factor


def solubility_spread(liquid: Liquid) -> float:
    """Return the relative half-width, about 90 %, of the CO2 level at a given pressure.

    Root of the squares of the part of water (2.5 %), the part of alcohol and the part of sugar. Each is a continuous
    function, straight between the nodes below; alcohol goes from its cold to its warm nodes between 4 and 16 degC,
    because there the beer charts and the wine formulas part. Beyond the measurements, below 0 and above 25 degC, the
    band grows by 0.4 % a degree: an estimate.

    A bar's own reading takes the place of what the model knows of a cold drink, where it was made. Warmer, or below
    0 degC, what the model knows less there than in the cold is added to it, again by the root of the squares.

    returns: 0.025 to 0.27, which is reached at 40 degC, where the solubility in water ends; with a reading of its own,
        from that of the reading on
    source: disagreement of the families named at `ethanol_factor` and `sugar_factor` with the model, so that each
        family's rows lie inside nine times in ten; `python -m tests.residuals` prints how often they do
    """
    sugar = liquid.sucrose_g_per_l + liquid.hexose_g_per_l
    here = _model_spread(liquid.temperature_c, liquid.abv, sugar)
    if liquid.known_spread is None:
        return here
    cold = _model_spread(min(max(liquid.temperature_c, 0.0), _READ_AT_MOST_C), liquid.abv, sugar)
    return hypot(liquid.known_spread, sqrt(max(0.0, here * here - cold * cold)))


_READ_AT_MOST_C: Final = 8.0
"""A bar reads its drinks as cold as it charges them, and no warmer than this [degC]."""

# Relative half-widths at [%vol] and [g/L] of sugar; read off `python -m tests.residuals`. Warm, beer of 5 %vol is the
# least certain: from 8 %vol on there is wine.
_COLD = ((0.0, 0.0), (5.0, 0.05), (15.0, 0.06), (20.0, 0.10), (30.0, 0.13), (40.0, 0.15))
_WARM = ((0.0, 0.0), (5.0, 0.12), (8.0, 0.08), (15.0, 0.07), (20.0, 0.11), (30.0, 0.13), (40.0, 0.15))
_SUGAR = ((0.0, 0.0), (50.0, 0.03), (100.0, 0.05), (150.0, 0.07), (250.0, 0.11), (400.0, 0.15))
_WATER: Final = 0.025
_COLD_C: Final = 4.0
_WARM_C: Final = 16.0
_FROM_C: Final = 0.0
_TO_C: Final = 25.0
_PER_DEGREE_BEYOND: Final = 0.004


def _model_spread(temperature_c: float, abv: float, sugar_g_per_l: float) -> float:
    cold, warm, sugar = _widths(abv, sugar_g_per_l)
    x = min(1.0, max(0.0, (temperature_c - _COLD_C) / (_WARM_C - _COLD_C)))
    alcohol = cold + (warm - cold) * x * x * (3.0 - 2.0 * x)  # no kink in a plot over temperature
    spread = sqrt(_WATER * _WATER + alcohol * alcohol + sugar * sugar)
    if temperature_c < _FROM_C:
        spread += _PER_DEGREE_BEYOND * (_FROM_C - temperature_c)
    elif temperature_c > _TO_C:  # in water they go on; a drink is one from the strength of beer, or as sweet, on
        spread += _PER_DEGREE_BEYOND * (temperature_c - _TO_C) * min(1.0, abv / 5.0 + sugar_g_per_l / 50.0)
    return spread


@lru_cache(maxsize=64)  # a drink is asked for at many temperatures
def _widths(abv: float, sugar_g_per_l: float) -> tuple[float, float, float]:
    """Return the parts of alcohol, cold and warm, and of sugar."""
    return _between(_COLD, abv), _between(_WARM, abv), _between(_SUGAR, sugar_g_per_l)


def _between(nodes: tuple[tuple[float, float], ...], x: float) -> float:
    """Return the value at x, straight between nodes and level after the last."""
    x0, y0 = nodes[0]
    for x1, y1 in nodes:
        if x < x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
        x0, y0 = x1, y1
    return y0

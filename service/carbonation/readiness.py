"""A known set-point, for the probe that asks whether the service can answer."""

from service.drink import Drink
from service.science.constants import ATMOSPHERE_BAR
from service.science.gas import pressure_for_bar_abs
from service.science.mixture import masses_of


def self_check() -> None:
    """Work out 7 g/L in a drink of 9 %vol and 70 g/L sugar at 1 degC, no air, at sea level: about 1.5 bar gauge.

    raises: RuntimeError unless it comes to 1.2 to 1.8 bar
    source: the worked case of the trade, common practice, no source
    """
    drink = Drink(masses_of(1000.0, abv=9.0, sugar_g_per_l=70.0), 0.0)
    gauge = pressure_for_bar_abs(drink.absorbs_co2(1.0), co2_g_per_l=7.0) - ATMOSPHERE_BAR
    if not 1.2 <= gauge <= 1.8:
        raise RuntimeError(f"the worked set-point came to {gauge:.3f} bar gauge instead of about 1.5")

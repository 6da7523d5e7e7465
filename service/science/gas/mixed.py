"""CO2 under a mix of CO2 and nitrogen: the pressure that holds a level, the level it comes to, the share that holds."""

from service.science.constants import CO2_G_PER_MOL
from service.science.gas.equilibrium import dissolved_co2_g_per_l, settle
from service.science.gas.liquid import Liquid
from service.science.gas.phase import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.validity import OutsideValidity


def mixed_pressure_for_bar_abs(liquid: Liquid, *, co2_g_per_l: float, co2_share: float) -> float:
    """Return the total pressure at which a mix of CO2 and nitrogen holds a CO2 level at rest.

    P = c/(s y) + pv; nitrogen is taken for air in the gas equations, and what dissolves of it is left out

    co2_share: y, of the mix [-], over 0 to 1
    returns: P [bar abs]
    raises: OutsideValidity
    source: Henry's law and Dalton's, `effective_solubility_mol_per_l_bar`
    """
    level = co2_g_per_l / CO2_G_PER_MOL

    def step(pressure: float, share: float) -> tuple[float, float]:
        co2_bar = level / liquid.solubility(pressure, share)
        return co2_bar, co2_bar * (1.0 - co2_share) / co2_share

    co2_bar, other_bar = settle(liquid.vapour_bar, step)
    return co2_bar + other_bar + liquid.vapour_bar


def mixed_level_g_per_l(liquid: Liquid, *, pressure_bar_abs: float, co2_share: float) -> float:
    """Return the CO2 level of a drink at rest under a mix of CO2 and nitrogen; inverse of the pressure for it.

    c = s y (P - pv)

    returns: [g/L]
    raises: OutsideValidity
    """
    nitrogen_bar = (1.0 - co2_share) * max(0.0, pressure_bar_abs - liquid.vapour_bar)
    return dissolved_co2_g_per_l(liquid, pressure_bar_abs=pressure_bar_abs, air_bar=nitrogen_bar)


def co2_share_for(liquid: Liquid, *, co2_g_per_l: float, pressure_bar_abs: float) -> float:
    """Return the share of CO2 with which a mix of a total pressure holds a level; over 1 where CO2 alone is too little.

    y = (c/s) / (P - pv)

    raises: OutsideValidity where vapour alone is over the pressure, and beyond the gas equations
    """
    if not liquid.vapour_bar < pressure_bar_abs <= GAS_PRESSURE_LIMIT_BAR_ABS:
        raise OutsideValidity("pressure", pressure_bar_abs, liquid.vapour_bar, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")
    dry_bar = pressure_bar_abs - liquid.vapour_bar
    level, co2_bar = co2_g_per_l / CO2_G_PER_MOL, 0.0
    for _ in range(20):  # of the share only the fugacity depends on it: by a hundredth of itself
        co2_bar = level / liquid.solubility(pressure_bar_abs, min(1.0, co2_bar / pressure_bar_abs))
    return co2_bar / dry_bar

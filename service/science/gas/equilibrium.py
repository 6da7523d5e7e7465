"""Level and pressure of CO2 once drink and gas are at rest with each other."""

from collections.abc import Callable
from math import exp

from service.science.constants import ATMOSPHERE_BAR, CO2_G_PER_MOL
from service.science.gas.liquid import Liquid
from service.science.gas.phase import GAS_PRESSURE_LIMIT_BAR_ABS, check_gas
from service.science.validity import OutsideValidity

_TOLERANCE = 1e-11  # relative, of the last correction; a pass shrinks the error at least tenfold
_PASSES = 60
_RUNAWAY_BAR = 60.0  # a level that no pressure in range can hold drives the passes here


def effective_solubility_mol_per_l_bar(liquid: Liquid, *, pressure_bar_abs: float, co2_share: float) -> float:
    """Dissolved CO2 per bar of its partial pressure.

    s = K phi Poynting

    pressure_bar_abs: total [bar], 0 to 10; co2_share: mole fraction of CO2 in the gas, 0 to 1
    returns: s [mol/(L bar)]
    raises: OutsideValidity
    source: Weiss 1974, doi:10.1016/0304-4203(74)90015-2
    """
    check_gas(pressure_bar_abs, co2_share)
    return liquid.solubility(pressure_bar_abs, co2_share)


def settle(vapour_bar: float, step: Callable[[float, float], tuple[float, float]]) -> tuple[float, float]:
    """Find the partial pressures that step gives back as they are, by substitution corrected from the pass before.

    x <- g - k (g - g'), k = r (r - r') / |r - r'|^2, r = g - x; x the two pressures, g what step makes of them, a
    prime the pass before

    vapour_bar: vapour pressure, the part of the total that step does not decide [bar]
    step: total pressure [bar abs] and CO2 share of the gas -> CO2 and air partial pressure [bar]
    returns: CO2, air [bar], to 1e-12 of the total
    raises: OutsideValidity above GAS_PRESSURE_LIMIT_BAR_ABS; its value is the pressure arrived at
    source: Anderson 1965, doi:10.1145/321296.321305, of depth one
    """
    pressure, co2, air = ATMOSPHERE_BAR, ATMOSPHERE_BAR - vapour_bar, 0.0
    k = g_co2_before = g_air_before = r_co2_before = r_air_before = 0.0
    for _ in range(_PASSES):
        pressure = co2 + air + vapour_bar
        if not 0.0 < pressure <= _RUNAWAY_BAR:
            break
        g_co2, g_air = step(pressure, co2 / pressure)
        r_co2, r_air = g_co2 - co2, g_air - air
        if abs(r_co2) + abs(r_air) <= _TOLERANCE * pressure:
            pressure = g_co2 + g_air + vapour_bar
            if pressure <= GAS_PRESSURE_LIMIT_BAR_ABS:
                return g_co2, g_air
            break
        if r_co2_before or r_air_before:
            d_co2, d_air = r_co2 - r_co2_before, r_air - r_air_before
            k = (r_co2 * d_co2 + r_air * d_air) / (d_co2 * d_co2 + d_air * d_air or 1.0)
        co2, air = g_co2 - k * (g_co2 - g_co2_before), g_air - k * (g_air - g_air_before)
        g_co2_before, g_air_before, r_co2_before, r_air_before = g_co2, g_air, r_co2, r_air
    raise OutsideValidity("pressure", pressure, 0.0, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")


def partial_pressures_bar(
    liquid: Liquid,
    *,
    co2_mol: float,
    in_gas_l: float,
    in_liquid_l: float,
    air_mol: float,
    air_in_gas_l: float,
    air_in_liquid_l: float,
) -> tuple[float, float]:
    """Return the partial pressures of amounts of CO2 and air that lie in gas and drink, at rest with each other.

    pc = nC / (VG/(Z R T) + s VL),  pa = nA / (VG/(Z R T) + Kair VL), each with volumes of its own

    co2_mol, in_gas_l, in_liquid_l: CO2, and the volumes it lies in; air_mol, air_in_gas_l, air_in_liquid_l: air
    returns: CO2, air [bar]
    raises: OutsideValidity, as `settle`, whose substitution it is
    source: mass balance; Henry's law
    """
    # `settle`, `GasPhase.z` and `Liquid.solubility` written out: a judgement asks for this 40 times a temperature
    gas, henry, vapour_bar = liquid.gas, liquid.henry, liquid.vapour_bar
    rt, B, Bair, cross, delta, v = gas.rt, gas.B, gas.Bair, gas.cross, gas.delta, gas.v
    air_dissolved = liquid.air_solubility * air_in_liquid_l
    co2 = co2_mol / (in_gas_l / rt + henry * in_liquid_l)
    air = air_mol / (air_in_gas_l / rt + air_dissolved)
    P = k = g_co2_before = g_air_before = r_co2_before = r_air_before = 0.0
    for _ in range(_PASSES):
        P = co2 + air + vapour_bar
        if not 0.0 < P <= _RUNAWAY_BAR:
            break
        y = co2 / P
        x = 1.0 - y
        zrt = rt * (1.0 + (y * y * B + 2.0 * y * x * cross + x * x * Bair) * P)
        s = henry * exp((B + 2.0 * x * x * delta) * P + v * (ATMOSPHERE_BAR - P))
        g_co2 = co2_mol / (in_gas_l / zrt + s * in_liquid_l)
        g_air = air_mol / (air_in_gas_l / zrt + air_dissolved)
        r_co2, r_air = g_co2 - co2, g_air - air
        if abs(r_co2) + abs(r_air) <= _TOLERANCE * P:
            P = g_co2 + g_air + vapour_bar
            if P <= GAS_PRESSURE_LIMIT_BAR_ABS:
                return g_co2, g_air
            break
        if r_co2_before or r_air_before:
            d_co2, d_air = r_co2 - r_co2_before, r_air - r_air_before
            k = (r_co2 * d_co2 + r_air * d_air) / (d_co2 * d_co2 + d_air * d_air or 1.0)
        co2, air = g_co2 - k * (g_co2 - g_co2_before), g_air - k * (g_air - g_air_before)
        g_co2_before, g_air_before, r_co2_before, r_air_before = g_co2, g_air, r_co2, r_air
    raise OutsideValidity("pressure", P, 0.0, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")


def dissolved_co2_g_per_l(liquid: Liquid, *, pressure_bar_abs: float, air_bar: float = 0.0) -> float:
    """CO2 level of a drink at rest under a total pressure.

    c = s pc,  pc = P - pa - pv

    pressure_bar_abs: total [bar], up to 10
    air_bar: partial pressure of air left in the headspace [bar]
    returns: [g/L]
    raises: OutsideValidity, also below the pressure of air and vapour alone
    source: Henry's law, `effective_solubility_mol_per_l_bar`
    """
    floor = air_bar + liquid.vapour_bar
    if not floor <= pressure_bar_abs <= GAS_PRESSURE_LIMIT_BAR_ABS:
        raise OutsideValidity("pressure", pressure_bar_abs, floor, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")
    co2_bar = pressure_bar_abs - floor
    return liquid.solubility(pressure_bar_abs, co2_bar / pressure_bar_abs) * co2_bar * CO2_G_PER_MOL


def pressure_for_bar_abs(liquid: Liquid, *, co2_g_per_l: float, air_bar: float = 0.0) -> float:
    """Total pressure that holds a CO2 level at rest; inverse of `dissolved_co2_g_per_l`.

    P = c/s + pa + pv

    co2_g_per_l: [g/L], 0 to what GAS_PRESSURE_LIMIT_BAR_ABS holds
    air_bar: partial pressure of air left in the headspace [bar]
    returns: [bar abs]
    raises: OutsideValidity
    source: Henry's law, `effective_solubility_mol_per_l_bar`
    """
    highest = dissolved_co2_g_per_l(liquid, pressure_bar_abs=GAS_PRESSURE_LIMIT_BAR_ABS, air_bar=air_bar)
    if not 0.0 <= co2_g_per_l <= highest:
        raise OutsideValidity("CO2 level", co2_g_per_l, 0.0, highest, "g/l")
    level = co2_g_per_l / CO2_G_PER_MOL

    def step(pressure: float, share: float) -> tuple[float, float]:
        return level / liquid.solubility(pressure, share), air_bar

    co2_bar, _ = settle(liquid.vapour_bar, step)
    return co2_bar + air_bar + liquid.vapour_bar

"""Charging: fill the headspace, shake on the regulator, rest closed.

A non-return valve is assumed, as good practice has it: gas never flows back into the regulator.
source: two-film gas uptake with a constant coefficient (Lewis & Whitman 1924, doi:10.1021/ie50180a002)
"""

from math import expm1, inf, log1p

from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid
from service.science.validity import OutsideValidity
from service.science.vessel.contents import pressures_at_rest_bar
from service.science.vessel.state import SETTLED, State


def on_regulator(
    liquid: Liquid, *, liquid_l: float, headspace_l: float, air_mol: float, pressure_bar_abs: float
) -> tuple[float, float]:
    """Return the state that a vessel nears on a regulator: CO2 in its headspace, level of its drink.

    pc = P - pa - pv,  pa = nA / (cap + Kair VL),  c = s pc; both below zero where air and vapour alone are over P

    returns: [mol], [mol/L]
    raises: OutsideValidity
    """
    if not 0.0 < pressure_bar_abs <= GAS_PRESSURE_LIMIT_BAR_ABS:
        raise OutsideValidity("pressure", pressure_bar_abs, 0.0, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")
    gas, dry_bar, dissolved = liquid.gas, pressure_bar_abs - liquid.vapour_bar, liquid.air_solubility * liquid_l
    co2_bar, before, cap = dry_bar, inf, 0.0
    while abs(co2_bar - before) > SETTLED:  # of the pressures only the share of air moves Z: by a hundredth of itself
        cap = headspace_l / (gas.z(pressure_bar_abs, co2_bar / pressure_bar_abs) * gas.rt)
        co2_bar, before = dry_bar - air_mol / (cap + dissolved), co2_bar
    return co2_bar * cap, liquid.solubility(pressure_bar_abs, co2_bar / pressure_bar_abs) * co2_bar


def at_gauge(state: State, *, pressure_bar_abs: float) -> State:
    """Return the closed vessel at rest with its gauge reading; without CO2 where air and vapour alone show more.

    raises: OutsideValidity
    """
    gas_mol, level = _regulated(state, pressure_bar_abs)
    return state.holding(level, gas_mol) if level > 0.0 else state.holding(0.0, 0.0)


def fill_headspace(state: State, *, pressure_bar_abs: float) -> tuple[State, float]:
    """Bring the headspace to the regulator pressure, before the drink takes anything up.

    pc = P - pa - pv; a vessel already at or above that pressure stays as it is

    returns: state, CO2 taken from the cylinder [mol]
    raises: OutsideValidity
    """
    gas_mol, _ = _regulated(state, pressure_bar_abs)
    if gas_mol <= state.gas_co2_mol:
        return state, 0.0
    return state.holding(state.dissolved_co2_mol_per_l, gas_mol), gas_mol - state.gas_co2_mol


def shake_connected(
    state: State, *, pressure_bar_abs: float, seconds: float, uptake_per_s: float
) -> tuple[State, float]:
    """Fill the headspace, then hold it at the regulator pressure while the drink takes CO2 up.

    c(t) = ceq + (c0 - ceq) exp(-kLa t),  ceq = s (P - pa - pv)

    While the vessel is above the regulator pressure it behaves as closed.

    seconds: time on the regulator [s], 0 up; uptake_per_s: kLa [1/s], see `uptake_per_s`
    returns: state, CO2 taken from the cylinder [mol]
    raises: OutsideValidity
    """
    return shake_towards(state, _regulated(state, pressure_bar_abs), seconds=seconds, uptake_per_s=uptake_per_s)


def shake_towards(
    state: State, at_rest: tuple[float, float], *, seconds: float, uptake_per_s: float
) -> tuple[State, float]:
    """Do as `shake_connected`, towards the state of `on_regulator`, which is the same from one charge to the next."""
    gas_mol, level = at_rest
    if state.gas_co2_mol > gas_mol:
        rest = _at_rest(state, uptake_per_s)
        wait = _seconds_until(state, gas_mol, rest)
        state = _nearing(state, rest, min(wait, seconds))
        if wait >= seconds:
            return state, 0.0
        seconds -= wait
    before = state.dissolved_co2_mol_per_l
    gas_mol = max(gas_mol, state.gas_co2_mol)  # rounding at equality must not take gas out
    used = gas_mol - state.gas_co2_mol
    rise = max(0.0, level - before) * -expm1(-uptake_per_s * seconds)
    filled = state.holding(before + rise, gas_mol)
    if level > before:
        return filled, used + rise * state.liquid_l
    return rest_closed(filled, seconds=seconds, uptake_per_s=uptake_per_s), used


def rest_closed(state: State, *, seconds: float, uptake_per_s: float) -> State:
    """Leave the closed vessel to itself, shaken or still; it nears the state at rest from either side.

    c(t) = cinf + (c0 - cinf) exp(-kLa (1 + lambda) t),  lambda = s VL / cap at rest

    seconds: [s], 0 up; uptake_per_s: kLa [1/s], see `uptake_per_s`
    raises: OutsideValidity
    """
    return _nearing(state, _at_rest(state, uptake_per_s), seconds)


def _nearing(state: State, rest: tuple[float, float], seconds: float) -> State:
    """Return the closed vessel some time later; rest: as `_at_rest` gives it."""
    level, per_s = rest
    before = state.dissolved_co2_mol_per_l
    after = before + (level - before) * -expm1(-per_s * seconds)  # in this form no time is exactly no change
    return state.holding(after, state.gas_co2_mol + (before - after) * state.liquid_l)


def _at_rest(state: State, uptake_per_s: float) -> tuple[float, float]:
    """Level at rest [mol/L] and how fast the closed vessel nears it [1/s]."""
    liquid, liquid_l, headspace_l = state.liquid, state.liquid_l, state.headspace_l
    co2_mol = state.dissolved_co2_mol_per_l * liquid_l + state.gas_co2_mol
    co2_bar, air_bar = pressures_at_rest_bar(
        liquid, liquid_l=liquid_l, headspace_l=headspace_l, co2_mol=co2_mol, air_mol=state.air_mol
    )
    pressure = co2_bar + air_bar + liquid.vapour_bar
    share = co2_bar / pressure
    s, cap = liquid.solubility(pressure, share), headspace_l / (liquid.gas.z(pressure, share) * liquid.gas.rt)
    return s * co2_bar, uptake_per_s * (1.0 + s * liquid_l / cap)


def _seconds_until(state: State, gas_mol: float, rest: tuple[float, float]) -> float:
    """Time until the headspace of the closed vessel is down to gas_mol; infinite if it never is."""
    level, per_s = rest
    uptake_mol = (level - state.dissolved_co2_mol_per_l) * state.liquid_l
    share = (state.gas_co2_mol - gas_mol) / uptake_mol if uptake_mol > 0.0 else inf
    return -log1p(-share) / per_s if share < 1.0 and per_s > 0.0 else inf


def _regulated(state: State, pressure_bar_abs: float) -> tuple[float, float]:
    return on_regulator(
        state.liquid, liquid_l=state.liquid_l, headspace_l=state.headspace_l, air_mol=state.air_mol,
        pressure_bar_abs=pressure_bar_abs,
    )  # fmt: skip

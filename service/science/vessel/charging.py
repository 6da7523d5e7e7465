"""Charging: fill the headspace, shake on the regulator, rest closed.

A non-return valve is assumed, as good practice has it: gas never flows back into the regulator.
source: two-film gas uptake with a constant coefficient (Lewis & Whitman 1924, doi:10.1021/ie50180a002)
"""

from dataclasses import replace
from math import expm1, inf, log1p

from service.science.gas import settle
from service.science.vessel.contents import balance
from service.science.vessel.state import State, contents


def fill_headspace(state: State, *, pressure_bar_abs: float) -> tuple[State, float]:
    """Bring the headspace to the regulator pressure, before the drink takes anything up.

    pc = P - pa - pv; a vessel already at or above that pressure stays as it is

    returns: state, CO2 taken from the cylinder [mol]
    raises: OutsideValidity
    """
    gas_mol, _ = _under_regulator(state, pressure_bar_abs)
    if gas_mol <= state.gas_co2_mol:
        return state, 0.0
    return replace(state, gas_co2_mol=gas_mol), gas_mol - state.gas_co2_mol


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
    gas_mol, level = _under_regulator(state, pressure_bar_abs)
    if state.gas_co2_mol > gas_mol:
        wait = _seconds_until(state, gas_mol, uptake_per_s)
        state = rest_closed(state, seconds=min(wait, seconds), uptake_per_s=uptake_per_s)
        if wait >= seconds:
            return state, 0.0
        seconds -= wait
    filled, used = fill_headspace(state, pressure_bar_abs=pressure_bar_abs)
    missing = level - filled.dissolved_co2_mol_per_l
    if missing <= 0.0:
        return rest_closed(filled, seconds=seconds, uptake_per_s=uptake_per_s), used
    rise = missing * -expm1(-uptake_per_s * seconds)
    shaken = replace(filled, dissolved_co2_mol_per_l=filled.dissolved_co2_mol_per_l + rise)
    return shaken, used + rise * state.liquid_l


def rest_closed(state: State, *, seconds: float, uptake_per_s: float) -> State:
    """Leave the closed vessel to itself, shaken or still; it nears the state at rest from either side.

    c(t) = cinf + (c0 - cinf) exp(-kLa (1 + lambda) t),  lambda = s VL / cap at rest

    seconds: [s], 0 up; uptake_per_s: kLa [1/s], see `uptake_per_s`
    raises: OutsideValidity
    """
    level, per_s = _closed(state, uptake_per_s)
    before = state.dissolved_co2_mol_per_l
    after = before + (level - before) * -expm1(-per_s * seconds)  # in this form no time is exactly no change
    gas_mol = state.gas_co2_mol + (before - after) * state.liquid_l
    return replace(state, dissolved_co2_mol_per_l=after, gas_co2_mol=gas_mol)


def _closed(state: State, uptake_per_s: float) -> tuple[float, float]:
    """Level at rest [mol/L] and how fast the closed vessel nears it [1/s]."""
    rest = balance(contents(state))
    return rest.co2_mol_per_l, uptake_per_s * (1.0 + rest.exchange_ratio)


def _seconds_until(state: State, gas_mol: float, uptake_per_s: float) -> float:
    """Time until the headspace of the closed vessel is down to gas_mol; infinite if it never is."""
    level, per_s = _closed(state, uptake_per_s)
    uptake_mol = (level - state.dissolved_co2_mol_per_l) * state.liquid_l
    share = (state.gas_co2_mol - gas_mol) / uptake_mol if uptake_mol > 0.0 else inf
    return -log1p(-share) / per_s if share < 1.0 and per_s > 0.0 else inf


def _under_regulator(state: State, pressure_bar_abs: float) -> tuple[float, float]:
    """CO2 in the headspace at the regulator pressure [mol], and the level at rest with it [mol/L]."""
    liquid, gas = state.liquid, state.liquid.gas
    air_in_liquid = liquid.air_solubility * state.liquid_l

    def step(_: float, share: float) -> tuple[float, float]:
        cap = state.headspace_l / (gas.z(pressure_bar_abs, share) * gas.rt)
        air_bar = state.air_mol / (cap + air_in_liquid)
        return pressure_bar_abs - air_bar - liquid.vapour_bar, air_bar

    co2_bar, _ = settle(liquid.vapour_bar, step)
    share = co2_bar / pressure_bar_abs
    s = liquid.solubility(pressure_bar_abs, share)
    return co2_bar * state.headspace_l / (gas.z(pressure_bar_abs, share) * gas.rt), s * co2_bar

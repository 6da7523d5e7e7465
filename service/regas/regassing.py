"""The re-gas: air out, on the regulator, shaken, then a cold rest."""

from math import log

from service.regas.rates import Rates
from service.science.vessel import (
    State,
    at_rest,
    fill_headspace,
    gas_pressures,
    open_to_air,
    pressure_bar_abs,
    shake_connected,
)
from service.setting import Setting


def shake_s(rates: Rates) -> float:
    """Return how long it is shaken on the regulator to take up 19 parts in 20 of what is missing [s]."""
    return log(20.0) / rates.shaking_per_s


def regas_bottle(
    setting: Setting, state: State, dial_bar_gauge: float, rates: Rates, *, seconds: float
) -> tuple[State, float]:
    """Bring a bottle that lost its gas back up, shaken for so long on the regulator; it has not rested yet.

    returns: state, CO2 taken from the cylinder [mol]
    raises: OutsideValidity
    """
    aired, purged_mol = _air_out(setting, state, rates)
    shaken, taken_mol = shake_connected(
        aired, pressure_bar_abs=dial_bar_gauge + setting.ambient_bar, seconds=seconds, uptake_per_s=rates.shaking_per_s
    )
    return shaken, purged_mol + taken_mol


def dial_for(setting: Setting, state: State, co2_g_per_l: float, rates: Rates) -> float:
    """Return the dial that holds a level in the bottle as it is now, with the air that stays in it [bar gauge].

    raises: OutsideValidity beyond the gas equations
    source: mass balance, `service.science.vessel.at_rest`
    """
    aired, _ = _air_out(setting, state, rates)
    rest = at_rest(
        aired.liquid, liquid_l=aired.liquid_l, headspace_l=aired.headspace_l, co2_g_per_l=co2_g_per_l,
        air_mol=aired.air_mol,
    )  # fmt: skip
    return pressure_bar_abs(rest) - setting.ambient_bar


def _air_out(setting: Setting, state: State, rates: Rates) -> tuple[State, float]:
    """Return the bottle once its air was handled as the setting says, and the CO2 taken for it [mol]."""
    air = setting.air
    if air.remaining_ml is not None:
        opened, _ = open_to_air(state, ambient_bar=setting.ambient_bar, foam_loss=rates.foam)
        return _squeezed(opened, air.remaining_ml / 1000.0), 0.0
    taken_mol = 0.0
    if air.times is not None and air.pressure_bar_gauge is not None:
        for _ in range(air.times):
            state, more = fill_headspace(state, pressure_bar_abs=air.pressure_bar_gauge + setting.ambient_bar)
            state, _ = open_to_air(state, ambient_bar=setting.ambient_bar, foam_loss=0.0)  # vented slowly
            taken_mol += more
    return state, taken_mol


def _squeezed(state: State, remaining_l: float) -> State:
    """Return the open bottle squeezed until so much gas is left over the drink; dissolved air stays."""
    share = min(1.0, remaining_l / state.headspace_l)
    dissolved_mol = gas_pressures(state)[1] * state.liquid.air_solubility * state.liquid_l
    air_mol = dissolved_mol + share * (state.air_mol - dissolved_mol)
    return State(
        state.liquid, state.liquid_l, state.headspace_l, state.dissolved_co2_mol_per_l, share * state.gas_co2_mol,
        air_mol,
    )  # fmt: skip

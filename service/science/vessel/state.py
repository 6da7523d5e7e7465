"""A vessel whose drink need not be at rest with the gas above it."""

from dataclasses import dataclass, replace

from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid, settle
from service.science.vessel.contents import Contents, check_fill


@dataclass(frozen=True)
class State:
    """CO2 by phase; air as a total, because it is taken to spread over both phases at once."""

    liquid: Liquid
    liquid_l: float
    headspace_l: float
    dissolved_co2_mol_per_l: float
    gas_co2_mol: float
    air_mol: float

    def __post_init__(self) -> None:
        check_fill(self.liquid_l, self.headspace_l)
        if not (self.dissolved_co2_mol_per_l >= 0.0 and self.gas_co2_mol >= 0.0 and self.air_mol >= 0.0):
            raise ValueError(f"less than nothing in the vessel: {self}")

    @property
    def co2_g_per_l(self) -> float:
        """CO2 level of the drink [g/L]."""
        return self.dissolved_co2_mol_per_l * CO2_G_PER_MOL


def at_rest(liquid: Liquid, *, liquid_l: float, headspace_l: float, co2_g_per_l: float, air_mol: float) -> State:
    """A closed vessel whose drink holds this level and is at rest with its headspace.

    raises: OutsideValidity
    source: mass balance, as in `balance`
    """
    gas, level = liquid.gas, co2_g_per_l / CO2_G_PER_MOL
    air_in_liquid = liquid.air_solubility * liquid_l

    def step(pressure: float, share: float) -> tuple[float, float]:
        s = liquid.solubility(pressure, share)
        return level / s, air_mol / (headspace_l / (gas.z(pressure, share) * gas.rt) + air_in_liquid)

    co2_bar, air_bar = settle(liquid.vapour_bar, step)
    pressure = co2_bar + air_bar + liquid.vapour_bar
    gas_mol = co2_bar * headspace_l / (gas.z(pressure, co2_bar / pressure) * gas.rt)
    return State(liquid, liquid_l, headspace_l, level, gas_mol, air_mol)


def gas_pressures(state: State) -> tuple[float, float]:
    """Partial pressures of CO2 and air in the headspace as it is now [bar].

    pc = gas CO2 / cap,  pa = nA / (cap + Kair VL)

    raises: OutsideValidity
    """
    gas = state.liquid.gas
    air_in_liquid = state.liquid.air_solubility * state.liquid_l

    def step(pressure: float, share: float) -> tuple[float, float]:
        cap = state.headspace_l / (gas.z(pressure, share) * gas.rt)
        return state.gas_co2_mol / cap, state.air_mol / (cap + air_in_liquid)

    return settle(state.liquid.vapour_bar, step)


def pressure_bar_abs(state: State) -> float:
    """Pressure in the vessel as it is now [bar].

    raises: OutsideValidity
    """
    return sum(gas_pressures(state), state.liquid.vapour_bar)


def totals(state: State) -> tuple[float, float]:
    """CO2 and air in the vessel, both phases [mol]."""
    return state.dissolved_co2_mol_per_l * state.liquid_l + state.gas_co2_mol, state.air_mol


def contents(state: State) -> Contents:
    """The totals, to ask for the state at rest."""
    return Contents(state.liquid, state.liquid_l, state.headspace_l, *totals(state))


def warmed(state: State, temperature_c: float) -> State:
    """The closed vessel at another temperature; CO2 has not yet moved between the phases.

    Expansion of drink and vessel is left out.
    """
    return replace(state, liquid=state.liquid.at(temperature_c))

"""A vessel whose drink need not be at rest with the gas above it."""

from dataclasses import dataclass
from functools import cached_property

from service.science.constants import CO2_G_PER_MOL
from service.science.gas import Liquid, partial_pressures_bar
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

    @cached_property
    def pressures_bar(self) -> tuple[float, float]:
        """Partial pressures of CO2 and air in the headspace as it is now, see `gas_pressures` [bar]."""
        return partial_pressures_bar(
            self.liquid, co2_mol=self.gas_co2_mol, in_gas_l=self.headspace_l, in_liquid_l=0.0,
            air_mol=self.air_mol, air_in_gas_l=self.headspace_l, air_in_liquid_l=self.liquid_l,
        )  # fmt: skip

    def holding(self, *, dissolved_co2_mol_per_l: float, gas_co2_mol: float, air_mol: float) -> "State":
        """The same vessel and liquid with other amounts in it."""
        return State(self.liquid, self.liquid_l, self.headspace_l, dissolved_co2_mol_per_l, gas_co2_mol, air_mol)


def at_rest(liquid: Liquid, *, liquid_l: float, headspace_l: float, co2_g_per_l: float, air_mol: float) -> State:
    """A closed vessel whose drink holds this level and is at rest with its headspace.

    raises: OutsideValidity
    source: mass balance, as in `balance`
    """
    co2_bar, air_bar = pressures_for_level_bar(
        liquid, liquid_l=liquid_l, headspace_l=headspace_l, co2_g_per_l=co2_g_per_l, air_mol=air_mol
    )
    gas, pressure = liquid.gas, co2_bar + air_bar + liquid.vapour_bar
    gas_mol = co2_bar * headspace_l / (gas.z(pressure, co2_bar / pressure) * gas.rt)
    return State(liquid, liquid_l, headspace_l, co2_g_per_l / CO2_G_PER_MOL, gas_mol, air_mol)


def pressures_for_level_bar(
    liquid: Liquid, *, liquid_l: float, headspace_l: float, co2_g_per_l: float, air_mol: float
) -> tuple[float, float]:
    """Partial pressures of CO2 and air over a drink that holds a level, at rest [bar].

    pc = c/s,  pa = nA / (cap + Kair VL)

    raises: OutsideValidity
    source: mass balance, as in `balance`
    """
    return partial_pressures_bar(
        liquid, co2_mol=co2_g_per_l / CO2_G_PER_MOL, in_gas_l=0.0, in_liquid_l=1.0,
        air_mol=air_mol, air_in_gas_l=headspace_l, air_in_liquid_l=liquid_l,
    )  # fmt: skip


def gas_pressures(state: State) -> tuple[float, float]:
    """Partial pressures of CO2 and air in the headspace as it is now [bar].

    pc = gas CO2 / cap,  pa = nA / (cap + Kair VL)

    raises: OutsideValidity
    """
    return state.pressures_bar


def pressure_bar_abs(state: State) -> float:
    """Pressure in the vessel as it is now [bar].

    raises: OutsideValidity
    """
    return sum(state.pressures_bar, state.liquid.vapour_bar)


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
    return State(
        state.liquid.at(temperature_c), state.liquid_l, state.headspace_l, state.dissolved_co2_mol_per_l,
        state.gas_co2_mol, state.air_mol,
    )  # fmt: skip

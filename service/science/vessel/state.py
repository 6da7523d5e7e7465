"""A vessel whose drink need not be at rest with the gas above it."""

from service.science.constants import CO2_G_PER_MOL
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS, Liquid, partial_pressures_bar
from service.science.validity import OutsideValidity
from service.science.vessel.contents import Contents, check_fill


class State:
    """CO2 by phase; air as a total, because it is taken to spread over both phases at once. Never changed once made.

    A plain class, because the logs of a bar make 200,000 of them; `checked` tells one that cannot be.
    """

    __slots__ = ("air_mol", "dissolved_co2_mol_per_l", "gas_co2_mol", "headspace_l", "liquid", "liquid_l")

    def __init__(
        self,
        liquid: Liquid,
        liquid_l: float,
        headspace_l: float,
        dissolved_co2_mol_per_l: float,
        gas_co2_mol: float,
        air_mol: float,
    ) -> None:
        self.liquid = liquid
        self.liquid_l = liquid_l
        self.headspace_l = headspace_l
        self.dissolved_co2_mol_per_l = dissolved_co2_mol_per_l
        self.gas_co2_mol = gas_co2_mol
        self.air_mol = air_mol

    def holding(self, dissolved_co2_mol_per_l: float, gas_co2_mol: float) -> "State":
        """Return the same vessel with other amounts of CO2."""
        return State(self.liquid, self.liquid_l, self.headspace_l, dissolved_co2_mol_per_l, gas_co2_mol, self.air_mol)

    @property
    def co2_g_per_l(self) -> float:
        """CO2 level of the drink [g/L]."""
        return self.dissolved_co2_mol_per_l * CO2_G_PER_MOL


def checked(state: State) -> State:
    """Return a state that comes from outside, checked here; the steps from there keep what is checked.

    raises: OutsideValidity for a vessel without a gas cushion
    """
    check_fill(state.liquid_l, state.headspace_l)
    if not (state.dissolved_co2_mol_per_l >= 0.0 and state.gas_co2_mol >= 0.0 and state.air_mol >= 0.0):
        raise ValueError(f"less than nothing in the vessel: {state}")
    return state


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
    return checked(State(liquid, liquid_l, headspace_l, co2_g_per_l / CO2_G_PER_MOL, gas_mol, air_mol))


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

    pc = gas CO2 / cap,  pa = nA / (cap + Kair VL),  cap = VH / (Z R T)

    By substitution of Z, to which all pressures are nearly in proportion: Z <- 1 / (1 - (Z(P, y) - 1) / Z).

    returns: CO2, air [bar], to 1e-11 of the total
    raises: OutsideValidity above GAS_PRESSURE_LIMIT_BAR_ABS
    """
    liquid, gas_co2_mol, air_mol = state.liquid, state.gas_co2_mol, state.air_mol
    gas, vapour_bar, dissolved = liquid.gas, liquid.vapour_bar, liquid.air_solubility * state.liquid_l
    z, before = 1.0, 0.0
    pressure = co2_bar = air_bar = 0.0
    while abs(z - before) > SETTLED:
        cap = state.headspace_l / (z * gas.rt)
        co2_bar, air_bar = gas_co2_mol / cap, air_mol / (cap + dissolved)
        pressure = co2_bar + air_bar + vapour_bar
        z, before = z / (z + 1.0 - gas.z(pressure, co2_bar / pressure)), z
    if not pressure <= GAS_PRESSURE_LIMIT_BAR_ABS:
        raise OutsideValidity("pressure", pressure, 0.0, GAS_PRESSURE_LIMIT_BAR_ABS, "bar")
    return co2_bar, air_bar


SETTLED = 1e-11
"""Of Z or a pressure [bar], between the last two passes."""


def pressure_bar_abs(state: State) -> float:
    """Pressure in the vessel as it is now [bar].

    raises: OutsideValidity
    """
    co2_bar, air_bar = gas_pressures(state)
    return co2_bar + air_bar + state.liquid.vapour_bar


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

"""CO2 between a drink and the gas above it: solubility, real gas, vapour, atmosphere, equilibrium.

Terms follow the trade: `_abs` is absolute pressure, co2_share the mole fraction of CO2 in the gas.
"""

from service.science.gas.equilibrium import (
    dissolved_co2_g_per_l,
    effective_solubility_mol_per_l_bar,
    partial_pressures_bar,
    pressure_for_bar_abs,
    settle,
)
from service.science.gas.liquid import (
    COLDEST_C,
    WARMEST_C,
    Liquid,
    co2_solubility_mol_per_l_atm,
    ethanol_factor,
    henry_mol_per_l_bar,
    solubility_spread,
    sugar_factor,
)
from service.science.gas.mixed import co2_share_for, mixed_level_g_per_l, mixed_pressure_for_bar_abs
from service.science.gas.phase import (
    GAS_PRESSURE_LIMIT_BAR_ABS,
    GasPhase,
    check_gas,
    compressibility,
    cylinder_pressure_bar_abs,
    gas_phase,
    ln_fugacity_coefficient,
    poynting,
    second_virial_cm3_per_mol,
)
from service.science.gas.vapour import (
    air_solubility_mol_per_l_bar,
    ethanol_vapour_bar,
    standard_atmosphere_bar,
    vapour_pressure_bar,
    water_vapour_bar,
)

__all__ = [
    "COLDEST_C",
    "GAS_PRESSURE_LIMIT_BAR_ABS",
    "WARMEST_C",
    "GasPhase",
    "Liquid",
    "air_solubility_mol_per_l_bar",
    "check_gas",
    "co2_share_for",
    "co2_solubility_mol_per_l_atm",
    "compressibility",
    "cylinder_pressure_bar_abs",
    "dissolved_co2_g_per_l",
    "effective_solubility_mol_per_l_bar",
    "ethanol_factor",
    "ethanol_vapour_bar",
    "gas_phase",
    "henry_mol_per_l_bar",
    "ln_fugacity_coefficient",
    "mixed_level_g_per_l",
    "mixed_pressure_for_bar_abs",
    "partial_pressures_bar",
    "poynting",
    "pressure_for_bar_abs",
    "second_virial_cm3_per_mol",
    "settle",
    "solubility_spread",
    "standard_atmosphere_bar",
    "sugar_factor",
    "vapour_pressure_bar",
    "water_vapour_bar",
]

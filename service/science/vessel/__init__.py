"""A closed vessel: drink below, CO2 and air above. What it holds at rest, and how charging and service move it.

Every step takes a state and gives a new one; CO2 and air are conserved, and no step passes equilibrium.
"""

from service.science.vessel.charging import (
    at_gauge,
    fill_headspace,
    on_regulator,
    rest_closed,
    shake_connected,
    shake_towards,
)
from service.science.vessel.contents import (
    Balance,
    Contents,
    air_to_start_mol,
    balance,
    check_fill,
    dissolved_air_mol,
    headspace_air_mol,
    pressures_at_rest_bar,
    purge_factor,
)
from service.science.vessel.losses import open_to_air, pour, poured_level_mol_per_l, stand_open, still_level_mol_per_l
from service.science.vessel.pouring import Pace, Poured, above_still_g_per_l, poured_on
from service.science.vessel.rates import (
    Agitation,
    PourManner,
    VesselSize,
    diffusivity_m2_per_s,
    foam_loss,
    pour_loss,
    standing_loss_per_s,
    still_film_m_per_s,
    uptake_per_s,
    viscosity_pa_s,
)
from service.science.vessel.state import (
    State,
    at_rest,
    checked,
    contents,
    gas_pressures,
    pressure_bar_abs,
    pressures_for_level_bar,
    totals,
    warmed,
)
from service.science.vessel.warming import Warming, WorstCases

__all__ = [
    "Agitation",
    "Balance",
    "Contents",
    "Pace",
    "PourManner",
    "Poured",
    "State",
    "VesselSize",
    "Warming",
    "WorstCases",
    "above_still_g_per_l",
    "air_to_start_mol",
    "at_gauge",
    "at_rest",
    "balance",
    "check_fill",
    "checked",
    "contents",
    "diffusivity_m2_per_s",
    "dissolved_air_mol",
    "fill_headspace",
    "foam_loss",
    "gas_pressures",
    "headspace_air_mol",
    "on_regulator",
    "open_to_air",
    "pour",
    "pour_loss",
    "poured_level_mol_per_l",
    "poured_on",
    "pressure_bar_abs",
    "pressures_at_rest_bar",
    "pressures_for_level_bar",
    "purge_factor",
    "rest_closed",
    "shake_connected",
    "shake_towards",
    "stand_open",
    "standing_loss_per_s",
    "still_film_m_per_s",
    "still_level_mol_per_l",
    "totals",
    "uptake_per_s",
    "viscosity_pa_s",
    "warmed",
]

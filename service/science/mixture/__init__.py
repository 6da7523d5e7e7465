"""What a drink is made of, as masses: density, strength, sugar, freezing point, heat and chilling time."""

from service.science.mixture.composition import (
    MOST_BRIX,
    Masses,
    abv,
    brix,
    density_g_per_ml,
    hexose_share,
    masses_of,
    strength,
    sugar_g_per_l,
    sugar_g_per_l_from_brix,
    together,
    volume_ml,
    water_to_fill_g,
    water_to_reach_abv_g,
)
from service.science.mixture.cooling import (
    ENVIRONMENTS,
    Environment,
    Wall,
    cooling_time_constant_s,
    time_constant_from_reading_s,
    time_to_s,
    wall_of,
)
from service.science.mixture.density import (
    abv_from_mass_fraction,
    ethanol_water_density_kg_m3,
    mass_fraction_from_abv,
    sucrose_water_density_kg_m3,
)
from service.science.mixture.freezing import freezing_point, freezing_point_c, ice_percent, lowest_safe_c
from service.science.mixture.heat import heat_capacity_kj_per_kg_k

__all__ = [
    "ENVIRONMENTS",
    "MOST_BRIX",
    "Environment",
    "Masses",
    "Wall",
    "abv",
    "abv_from_mass_fraction",
    "brix",
    "cooling_time_constant_s",
    "density_g_per_ml",
    "ethanol_water_density_kg_m3",
    "freezing_point",
    "freezing_point_c",
    "heat_capacity_kj_per_kg_k",
    "hexose_share",
    "ice_percent",
    "lowest_safe_c",
    "mass_fraction_from_abv",
    "masses_of",
    "strength",
    "sucrose_water_density_kg_m3",
    "sugar_g_per_l",
    "sugar_g_per_l_from_brix",
    "time_constant_from_reading_s",
    "time_to_s",
    "together",
    "volume_ml",
    "wall_of",
    "water_to_fill_g",
    "water_to_reach_abv_g",
]

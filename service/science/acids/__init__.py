"""Acids: what is sold, the acidity it brings, volume, pH, solubility and tartrate haze."""

from service.science.acids.acidity import Calibrated, calibrated, ph, ph_band, titrated_fraction
from service.science.acids.density import (
    VOLUMES_ADD_TO_PERCENT,
    product_apparent_ml_per_g,
    solution_density_g_per_ml,
    solution_volume_ml,
    strongest_percent_ww,
    water_for_volume_g,
)
from service.science.acids.dissociation import pka
from service.science.acids.equilibrium import MAX_ACID_MOL_PER_KG
from service.science.acids.products import (
    ACIDS,
    DEFAULT_FORM,
    FORMS,
    HAZARD_STATEMENTS,
    Acid,
    Form,
    Hazard,
    as_g_per_l,
    meq_per_g,
    meq_per_l_of,
    product_g,
)
from service.science.acids.solubility import (
    MISCIBLE,
    NEAR_SATURATION,
    kht_solubility_g_per_l,
    saturation,
    solubility_percent_ww,
    tartrate_saturation,
)

__all__ = [
    "ACIDS",
    "DEFAULT_FORM",
    "FORMS",
    "HAZARD_STATEMENTS",
    "MAX_ACID_MOL_PER_KG",
    "MISCIBLE",
    "NEAR_SATURATION",
    "VOLUMES_ADD_TO_PERCENT",
    "Acid",
    "Calibrated",
    "Form",
    "Hazard",
    "as_g_per_l",
    "calibrated",
    "kht_solubility_g_per_l",
    "meq_per_g",
    "meq_per_l_of",
    "ph",
    "ph_band",
    "pka",
    "product_apparent_ml_per_g",
    "product_g",
    "saturation",
    "solubility_percent_ww",
    "solution_density_g_per_ml",
    "solution_volume_ml",
    "strongest_percent_ww",
    "tartrate_saturation",
    "titrated_fraction",
    "water_for_volume_g",
]

"""Acids: what is sold, the acidity it brings, volume, pH, solubility and tartrate haze."""

from service.science.acids.acidity import (
    Calibrated,
    calibrated,
    ph,
    ph_band,
    titrated_fraction,
    titrated_meq_per_l,
    titration_dilution,
)
from service.science.acids.compositions import COMPOSITIONS, JUICES, Composition, CompositionPart, Juice
from service.science.acids.density import (
    VOLUMES_ADD_TO_PERCENT,
    product_apparent_ml_per_g,
    solution_density_g_per_ml,
    solution_volume_ml,
    strongest_percent_ww,
    water_for_volume_g,
)
from service.science.acids.dissociation import DISSOCIATION, pka
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
    NEAR_SATURATION,
    kht_solubility_g_per_l,
    saturation,
    solubility_is_known,
    solubility_percent_ww,
    tartrate_saturation,
)

__all__ = [
    "ACIDS",
    "COMPOSITIONS",
    "DEFAULT_FORM",
    "DISSOCIATION",
    "FORMS",
    "HAZARD_STATEMENTS",
    "JUICES",
    "MAX_ACID_MOL_PER_KG",
    "NEAR_SATURATION",
    "VOLUMES_ADD_TO_PERCENT",
    "Acid",
    "Calibrated",
    "Composition",
    "CompositionPart",
    "Form",
    "Hazard",
    "Juice",
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
    "solubility_is_known",
    "solubility_percent_ww",
    "solution_density_g_per_ml",
    "solution_volume_ml",
    "strongest_percent_ww",
    "tartrate_saturation",
    "titrated_fraction",
    "titrated_meq_per_l",
    "titration_dilution",
    "water_for_volume_g",
]

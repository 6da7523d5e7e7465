"""Shapes that several operations share: the spec, the drink, the vessel, the site; and the envelope of answers."""

from service.api.shapes.acids import (
    ACID_NAMES,
    AcidPartSchema,
    AcidSolutionSchema,
    check_form,
    check_once,
    check_percents,
    check_shares,
)
from service.api.shapes.calibration import CALIBRATION, CalibrationSchema
from service.api.shapes.drink import DrinkSchema
from service.api.shapes.envelope import Envelope, SentenceParameterSchema, TitratableAcidityAnswerSchema
from service.api.shapes.items import Items
from service.api.shapes.listed import LoadedAlone, check_lines, check_listed, lines_in
from service.api.shapes.spec import SpecSchema
from service.api.shapes.vessel_and_site import (
    SITE,
    AirSchema,
    PriceSchema,
    ScaleSchema,
    ShiftSchema,
    SiteSchema,
    SizedVesselSchema,
    VesselSchema,
    fill_field,
)

__all__ = [
    "ACID_NAMES",
    "CALIBRATION",
    "SITE",
    "AcidPartSchema",
    "AcidSolutionSchema",
    "AirSchema",
    "CalibrationSchema",
    "DrinkSchema",
    "Envelope",
    "Items",
    "LoadedAlone",
    "PriceSchema",
    "ScaleSchema",
    "SentenceParameterSchema",
    "ShiftSchema",
    "SiteSchema",
    "SizedVesselSchema",
    "SpecSchema",
    "TitratableAcidityAnswerSchema",
    "VesselSchema",
    "check_form",
    "check_lines",
    "check_listed",
    "check_once",
    "check_percents",
    "check_shares",
    "fill_field",
    "lines_in",
]

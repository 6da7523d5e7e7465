"""Shapes that several operations share: the spec, the drink, the vessel, the site; and the envelope of answers."""

from typing import Any

from service.api.quantities import Number, says
from service.api.shapes.envelope import Envelope, SentenceParameterSchema, TitratableAcidityAnswerSchema
from service.api.shapes.listed import MOST_ITEMS, LoadedAlone, check_lines, check_listed, lines_in, loaded_alone
from service.api.wire import Items, request_schema
from service.calibration import Calibration
from service.drink import MOST_ACIDS, DrinkGiven, Spec
from service.site import Air, Price, Scale, Shift, Site
from service.vessel import SizedVessel, VesselGiven

CalibrationSchema: Any = request_schema(Calibration)
DrinkSchema: Any = request_schema(DrinkGiven)
SpecSchema: Any = request_schema(Spec)
AirSchema: Any = request_schema(Air)
PriceSchema: Any = request_schema(Price)
ScaleSchema: Any = request_schema(Scale)
ShiftSchema: Any = request_schema(Shift)
SiteSchema: Any = request_schema(Site)
SizedVesselSchema: Any = request_schema(SizedVessel)
VesselSchema: Any = request_schema(VesselGiven)
SITE = says("Sea level and a 30 °C warmest room unless stated.")
FILL = says("Liquid as a share of brimful; of a bottle 0.80 unless stated, of a keg 0.95.")
CALIBRATION = says("This bar's own constants; they narrow the bands and never relax a limit.")


def fill_field(**kwargs: Any) -> Number:
    return Number(low=0.05, high=1.0, **{"metadata": FILL, **kwargs})


__all__ = [
    "CALIBRATION",
    "MOST_ACIDS",
    "MOST_ITEMS",
    "SITE",
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
    "check_lines",
    "check_listed",
    "fill_field",
    "lines_in",
    "loaded_alone",
]

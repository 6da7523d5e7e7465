"""A bar's own constants by least squares on its readings or weighings, and whether the readings tell them at all."""

from service.regas.calibrating.asked import CalibrationAsked, CalibrationRequest, Kind, Reading
from service.regas.calibrating.fitting import Calibrated, FitPoint, Judgement, Measured, calibrate

__all__ = [
    "Calibrated",
    "CalibrationAsked",
    "CalibrationRequest",
    "FitPoint",
    "Judgement",
    "Kind",
    "Measured",
    "Reading",
    "calibrate",
]

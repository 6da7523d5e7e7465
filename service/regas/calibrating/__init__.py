"""A bar's own constants by least squares on its readings or weighings, and whether the readings tell them at all."""

from service.regas.calibrating.bench import Kind, Reading
from service.regas.calibrating.fitting import Calibrated, FitPoint, calibrate
from service.regas.calibrating.judging import Judgement

__all__ = ["Calibrated", "FitPoint", "Judgement", "Kind", "Reading", "calibrate"]

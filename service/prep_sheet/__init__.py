"""The prep sheet: every capability composed, in the order of work."""

from service.prep_sheet.answer import PrepSheet, prep_sheet
from service.prep_sheet.paper import LabelLine, Record, SheetLabel
from service.prep_sheet.parts import ChillPlan, Parts, PrepSheetRequest, PrepSolution, charged, chilled, in_the_cold
from service.prep_sheet.sheet import on_draught, prepare, solutions_for
from service.prep_sheet.step import Station, Step, StepCaution, Steps, StepValue
from service.prep_sheet.steps import PLACES, mixing_steps, sparkling, steps_of, tap_steps, vessel_steps
from service.prep_sheet.tap import foam_checks

__all__ = [
    "PLACES",
    "ChillPlan",
    "LabelLine",
    "Parts",
    "PrepSheet",
    "PrepSheetRequest",
    "PrepSolution",
    "Record",
    "SheetLabel",
    "Station",
    "Step",
    "StepCaution",
    "StepValue",
    "Steps",
    "charged",
    "chilled",
    "foam_checks",
    "in_the_cold",
    "mixing_steps",
    "on_draught",
    "prep_sheet",
    "prepare",
    "solutions_for",
    "sparkling",
    "steps_of",
    "tap_steps",
    "vessel_steps",
]

"""The prep sheet: every capability composed, in the order of work."""

from service.prep_sheet.answer import PrepSheet, prep_sheet
from service.prep_sheet.paper import LabelLine, Record, SheetLabel
from service.prep_sheet.parts import ChillPlan, PrepSheetRequest, PrepSolution, charged, chilled
from service.prep_sheet.step import Step, StepCaution, StepValue

__all__ = [
    "ChillPlan",
    "LabelLine",
    "PrepSheet",
    "PrepSheetRequest",
    "PrepSolution",
    "Record",
    "SheetLabel",
    "Step",
    "StepCaution",
    "StepValue",
    "charged",
    "chilled",
    "prep_sheet",
]

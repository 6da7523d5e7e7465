"""The prep sheet: every capability composed, in the order of work."""

from service.prep_sheet.answer import PrepSheet, prep_sheet
from service.prep_sheet.paper import LabelLine, Record, SheetLabel
from service.prep_sheet.parts import ChillPlan, PrepSheetRequest, charged, chilled
from service.prep_sheet.step import Step, StepValue

__all__ = [
    "ChillPlan",
    "LabelLine",
    "PrepSheet",
    "PrepSheetRequest",
    "Record",
    "SheetLabel",
    "Step",
    "StepValue",
    "charged",
    "chilled",
    "prep_sheet",
]

"""The prep sheet: every capability composed, in the order of work."""

from service.prep_sheet.paper import Label, Record, label_of, records_of
from service.prep_sheet.parts import Asked, ChillPlan, NamedSolution, PrepSheet
from service.prep_sheet.planned import charged, chilled
from service.prep_sheet.sheet import prepare
from service.prep_sheet.step import Step, StepValue
from service.prep_sheet.steps import steps_of
from service.prep_sheet.timetable import Timetable, timetable_of

__all__ = [
    "Asked",
    "ChillPlan",
    "Label",
    "NamedSolution",
    "PrepSheet",
    "Record",
    "Step",
    "StepValue",
    "Timetable",
    "charged",
    "chilled",
    "label_of",
    "prepare",
    "records_of",
    "steps_of",
    "timetable_of",
]

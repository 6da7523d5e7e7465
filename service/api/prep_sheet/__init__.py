"""Prep sheets on the wire: JSON, pages to print, the bench ticket as text, a table."""

from service.api import carbonation
from service.api.answers import Answer
from service.api.endpoint import Body, OldOperation
from service.api.pages import sheet, table
from service.api.pages.ticket import QUERY, ticket
from service.api.prep_sheet.answer import PrepSheetAnswer
from service.api.prep_sheet.request import PrepSheetRequest
from service.api.prep_sheet.writing import write
from service.notes import Notes
from service.prep_sheet import Asked, PrepSheet, Timetable, prepare, steps_of, timetable_of

__all__ = ["OPERATIONS"]


def create_prep_sheet(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/prep-sheets."""
    return write(*_prepared(asked, answer, notes), answer)


def show_prep_sheet(asked: Body, answer: Answer, notes: Notes) -> Body:
    """The answer with the curve of its set-point, which its pages draw."""
    found, timetable = _prepared(asked, answer, notes)
    curve = carbonation.write_set_point_curve(found.set_points, answer)
    return {**write(found, timetable, answer), "curve": curve}


def _prepared(asked: Body, answer: Answer, notes: Notes) -> tuple[PrepSheet, Timetable]:
    found = prepare(Asked(units=answer.system, **asked), notes)
    return found, timetable_of(steps_of(found), found, notes)


OPERATIONS = (
    OldOperation(
        path="/v1/prep-sheets",
        operation_id="createPrepSheet",
        tag="prep",
        summary="The whole job for one spec, in the order of work.",
        description="Batch, acid solutions, chill, fill, charge, hold, pour and re-gas for one spec and one kind of "
        "vessel, with the steps and timers of the bench, the records to keep and the label. As HTML it is the pages to "
        "print, as text the bench ticket, as CSV a table with a row for each figure.",
        request=PrepSheetRequest(),
        answer=PrepSheetAnswer,
        pressure=True,
        view=create_prep_sheet,
        forms={"html": sheet.pages, "text": ticket, "csv": table.table},
        views={"html": show_prep_sheet},
        headers={"html": sheet.HEADERS, "csv": table.HEADERS},
        query=QUERY,
    ),
)

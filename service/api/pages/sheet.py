"""A prep sheet as pages to print: the bench's, the manager's, the labels. Without a script; the style is inline."""

from collections.abc import Iterator
from pathlib import Path

from markupsafe import Markup

from service.api.carbonation import write_set_point_curve
from service.api.endpoint import Served
from service.api.pages import names, plots
from service.api.pages.draught import draught_of
from service.api.pages.labels import MOST_LABELS, label_of
from service.api.pages.manager import manager_of
from service.api.pages.paper import Paper
from service.api.pages.printed import Printed
from service.api.pages.ticket import APPROVAL
from service.api.pages.work import care_of, work_of
from service.prep_sheet import PrepSheet, PrepSheetRequest

_PRINTED = Printed(Path(__file__).parent / "templates", "sheet.css")
HEADERS = _PRINTED.headers

Sheet = Served[PrepSheetRequest, PrepSheet]


def pages(served: Sheet) -> str:
    """Return the pages of a prep sheet."""
    paper, asked, found, notes = Paper(served.answer), served.asked, served.found, served.notes
    labels = min(found.fill.count, MOST_LABELS)
    return _PRINTED.templates.get_template("sheet.html").render(
        _=paper.say,
        many=paper.many,
        set_out=paper.set_out,
        paper=paper,
        asked=asked,
        found=found,
        place=(asked.site.name or asked.site.id) if asked.site else None,
        vessel=names.vessel(found.fill.each, paper),
        draught=None
        if found.draught is None or asked.draught is None
        else draught_of(found.draught, asked.draught, paper),
        work=work_of(asked, found, notes.cautions, paper),
        manager=manager_of(asked, found, notes.assumptions, paper),
        cautions=[care_of(caution, paper) for caution in notes.cautions if caution.severity == "info"],
        label=label_of(asked, found, paper),
        labels=labels,
        lots=range(labels),
        regassed=found.regas is not None and found.regas.recharge is not None,
        plots=list(_drawn(served, paper)),
        approval=paper.say(APPROVAL),
    )


def _drawn(served: Sheet, paper: Paper) -> Iterator[Markup]:
    """Yield the plots; what they draw of the caller's is escaped by them."""
    name, body = {"name": served.found.label.name}, served.body
    set_points = served.found.carbonation.set_points
    if any(point.gauge_pressure_bar is not None for point in set_points.points):
        curve = write_set_point_curve(set_points, served.answer)
        drawn = {**body["carbonation"]["set_points"], **curve, **name}
        yield Markup(plots.set_points(drawn, paper))  # noqa: S704 - an XML tree, serialised
    if "regas" in body:
        yield Markup(plots.regas({**body["regas"], **name}, paper))  # noqa: S704 - as above

"""A prep sheet as pages to print: the bench's, the manager's, the labels. Without a script; the style is inline."""

from base64 import b64encode
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.api.carbonation import write_set_point_curve
from service.api.endpoint import Served
from service.api.pages import names, plots
from service.api.pages.labels import MOST_LABELS, label_of
from service.api.pages.manager import manager_of
from service.api.pages.paper import Paper
from service.api.pages.ticket import APPROVAL
from service.api.pages.words import strip_control_marks
from service.api.pages.work import care_of, work_of
from service.prep_sheet import PrepSheet, PrepSheetRequest
from service.safety_rules import SAFETY_RULES

_TEMPLATES = Path(__file__).parent / "templates"
_STYLE = (_TEMPLATES / "sheet.css").read_text(encoding="utf-8")
_STYLE_HASH = b64encode(sha256(_STYLE.encode()).digest()).decode()
HEADERS = {
    "Content-Security-Policy": (
        f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )
}

Sheet = Served[PrepSheetRequest, PrepSheet]


def pages(served: Sheet) -> str:
    """Return the pages of a prep sheet."""
    paper, asked, found, notes = Paper(served.answer), served.asked, served.found, served.notes
    labels = min(found.fill.count, MOST_LABELS)
    return _PAGES.render(
        _=paper.say,
        many=paper.many,
        set_out=paper.set_out,
        paper=paper,
        asked=asked,
        found=found,
        place=(asked.site.name or asked.site.id) if asked.site else None,
        vessel=names.vessel(found.fill.each, paper),
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


def _plain(value: Any) -> Any:
    """Return every word of the page, but for what is markup already, without what steers a printer."""
    return strip_control_marks(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_plain,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals |= {"style": Markup(_STYLE), "rules": SAFETY_RULES}  # noqa: S704 - our own file
    return made


_PAGES = _environment().get_template("sheet.html")

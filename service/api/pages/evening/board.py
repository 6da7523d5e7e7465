"""The board of an evening, to hang up: the time line, then a page for each station. No script; the style is inline."""

from decimal import Decimal
from pathlib import Path

from markupsafe import Markup

from service.api.pages.evening.lines import (
    Body,
    amount,
    at_most,
    hands_on,
    letters,
    names,
    run_figures,
    runs,
    time_of_day,
    told_at_once,
)
from service.api.pages.evening.listing import STATIONS
from service.api.pages.evening.timeline import timeline
from service.api.pages.printed import Printed
from service.api.pages.ticket import APPROVAL
from service.money import to_coins

_PRINTED = Printed(Path(__file__).parent, "board.css")
HEADERS = _PRINTED.headers


def board(plan: Body) -> str:
    """Return the pages of a plan."""
    drawn = Markup(timeline(plan))  # noqa: S704 - an XML tree, serialised
    tasks = {station: runs(hands_on(plan, station)) for station in STATIONS}
    return _PAGES.render(
        plan=plan, drawn=drawn, tasks=tasks, names=names(plan), letters=letters(plan), approval=APPROVAL
    )


def _money(money: Body) -> str:
    """Return an amount to the currency's smallest coin."""
    return f"{to_coins(Decimal(money['amount']), money['currency'])} {money['currency']}"


_PRINTED.templates.filters |= {
    "time": time_of_day,
    "shown": amount,
    "money": _money,
    "figures": run_figures,
    "told": told_at_once,
    "at_most": at_most,
}
_PAGES = _PRINTED.templates.get_template("board.html")

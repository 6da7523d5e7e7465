"""The board of an evening, to hang up: the time line, then a page for each station. No script; the style is inline."""

from base64 import b64encode
from decimal import ROUND_HALF_EVEN, Decimal
from hashlib import sha256
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.api.answers import shown
from service.api.pages.evening.lines import (
    Body,
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
from service.api.pages.ticket import APPROVAL
from service.api.pages.words import mass_text, strip_control_marks
from service.money import minor_digits
from service.safety_rules import SAFETY_RULES

_FOLDER = Path(__file__).parent
_STYLE = (_FOLDER / "board.css").read_text(encoding="utf-8")
_STYLE_HASH = b64encode(sha256(_STYLE.encode()).digest()).decode()
HEADERS = {
    "Content-Security-Policy": (
        f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )
}


def board(plan: Body) -> str:
    """Return the pages of a plan."""
    drawn = Markup(timeline(plan))  # noqa: S704 - an XML tree, serialised
    tasks = {station: runs(hands_on(plan, station)) for station in STATIONS}
    return _PAGES.render(
        plan=plan, drawn=drawn, tasks=tasks, names=names(plan), letters=letters(plan), approval=APPROVAL
    )


def _plain(value: Any) -> Any:
    """Return every word of the page as paper takes it, but for what is markup already."""
    return strip_control_marks(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _shown(quantity: Body) -> str:
    return mass_text(shown(quantity["value"], quantity["unit"]), quantity["unit"])


def _money(money: Body) -> str:
    """Return an amount to the currency's smallest coin."""
    coin = Decimal(1).scaleb(-minor_digits(money["currency"]))
    return f"{Decimal(money['amount']).quantize(coin, ROUND_HALF_EVEN)} {money['currency']}"


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_FOLDER), autoescape=True, undefined=StrictUndefined, finalize=_plain, trim_blocks=True,
        lstrip_blocks=True, auto_reload=False,
    )  # fmt: skip
    made.filters |= {
        "time": time_of_day,
        "shown": _shown,
        "money": _money,
        "figures": run_figures,
        "told": told_at_once,
        "at_most": at_most,
    }
    made.globals |= {"style": Markup(_STYLE), "rules": SAFETY_RULES}  # noqa: S704 - our own file
    return made


_PAGES = _environment().get_template("board.html")

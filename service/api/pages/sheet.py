"""A prep sheet as pages to print: the bench's, the manager's, the labels. Without a script; the style is inline."""

from base64 import b64encode
from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from hashlib import sha256
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.api.answers import shown
from service.api.pages import plots
from service.api.pages.ticket import APPROVAL
from service.api.pages.words import day_and_time, duration_text, mass_text, step_value_text, strip_control_marks
from service.money import minor_digits
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
MOST_LABELS = 24
"""Labels on a sheet; of more vessels they are printed again."""
_UNITS = ("g", "s", "min")
"""Units that a text of two figures, as 2 x 1788.8 g, may end with."""
_LARGEST = 16
"""Characters of a value that is set large, at most: a date with a time of day."""
_LETTERS = 4
"""Letters in one at most, those of units: the others are words."""

Body = Mapping[str, Any]


def pages(sheet: Body, query: Mapping[str, str]) -> str:
    """Render the pages of a prep sheet's answer.

    sheet: with the `target` and `curve` of `plots.set_points`
    """
    return _PAGES.render(sheet=sheet, drawn=list(_drawn(sheet)), approval=APPROVAL)


def _drawn(sheet: Body) -> Iterable[Markup]:
    """Yield the plots, which escape the words of the caller themselves."""
    name = {"name": sheet["label"]["name"]}
    found = sheet["carbonation"]["set_points"]
    yield Markup(plots.set_points({**found, **sheet["curve"], **name}))  # noqa: S704 - an XML tree, serialised
    if "regas" in sheet:
        yield Markup(plots.regas({**sheet["regas"], **name}))  # noqa: S704 - as above


def _stripped(value: Any) -> Any:
    """Return a word of the page without control marks; markup stays as it is."""
    return strip_control_marks(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _split(value: Body) -> tuple[str, str]:
    """Return a step's value as figure and unit."""
    text = _text(value)
    figure, _, unit = text.rpartition(" ")
    measured = "unit" in value or (unit in _UNITS and figure[-1:].isdigit())
    return (figure, unit) if measured else (text, "")


def _text(value: Body) -> str:
    """Return a value as the pages write it."""
    return step_value_text(value)


def _large(figure: str) -> bool:
    """Tell whether a value is set large: a number that is not long."""
    return figure[:1] in "-0123456789" and len(figure) <= _LARGEST and sum(c.isalpha() for c in figure) <= _LETTERS


def _shown(quantity: Body) -> str:
    return mass_text(shown(quantity["value"], quantity["unit"]), quantity["unit"])


def _money(money: Body) -> str:
    """Return an amount to the currency's smallest coin."""
    coin = Decimal(1).scaleb(-minor_digits(money["currency"]))
    return f"{Decimal(money['amount']).quantize(coin, ROUND_HALF_EVEN)} {money['currency']}"


def ends(band: Body) -> list[str]:
    """Return low, typical and high, with as many digits as the science bears."""
    found = [band[end] for end in ("low", "typical", "high")]
    if "unit" not in band:
        plain = [f"{float(f'{end:.3g}'):g}" for end in found]
        decimals = max(len(end.partition(".")[2]) for end in plain)
        return [f"{float(end):.{decimals}f}" for end in plain]
    return [shown(end, band["unit"]).partition(" ")[0] for end in found]


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_stripped,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters |= {
        "clock": duration_text, "moment": day_and_time, "split": _split, "text": _text, "large": _large,
        "shown": _shown, "money": _money, "ends": ends,
    }  # fmt: skip
    made.globals |= {"style": Markup(_STYLE), "most_labels": MOST_LABELS, "rules": SAFETY_RULES}  # noqa: S704 - our own file
    return made


_PAGES = _environment().get_template("sheet.html")

"""Pages to print: every word escaped, no script, one style sheet inline, which the policy names."""

from base64 import b64encode
from hashlib import sha256
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.api.pages.words import strip_control_marks
from service.safety_rules import SAFETY_RULES


def environment(folder: Path) -> Environment:
    """Return the templates of a folder, which escape every word and take the marks of control out of it."""
    return Environment(
        loader=FileSystemLoader(folder), autoescape=True, undefined=StrictUndefined, finalize=_plain,
        trim_blocks=True, lstrip_blocks=True, auto_reload=False,
    )  # fmt: skip


class Printed:
    """Templates of a folder, and the headers of a page that is made of them.

    style: the file of their style sheet, in that folder
    """

    def __init__(self, folder: Path, style: str) -> None:
        text = (folder / style).read_text(encoding="utf-8")
        named = b64encode(sha256(text.encode()).digest()).decode()
        self.headers = {
            "Content-Security-Policy": (
                f"default-src 'none'; style-src 'sha256-{named}'; base-uri 'none'; form-action 'none'; "
                "frame-ancestors 'none'"
            )
        }
        self.templates = environment(folder)
        self.templates.globals |= {"style": Markup(text), "rules": SAFETY_RULES}  # noqa: S704 - our own file


def _plain(value: Any) -> Any:
    """Return every word of a page as paper takes it, but for what is markup already."""
    return strip_control_marks(value) if isinstance(value, str) and not isinstance(value, Markup) else value

"""The integrator's guide, openapi/GUIDE.md, as a page; markup that stands in it is shown as text."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup

from service.api.openapi.paths import FOLDER

_LANGUAGES = {"sh": "Shell", "python": "Python", "typescript": "TypeScript", "kotlin": "Kotlin"}
_BLOCK = Markup('<figure><figcaption>{}</figcaption><pre tabindex="0"><code>{}</code></pre></figure>\n')


@dataclass(frozen=True)
class Section:
    """A heading of the table of contents. anchor: its id in the page"""

    title: str
    anchor: str


@dataclass(frozen=True)
class Guide:
    """The guide in parts. body: all but its title, as HTML"""

    title: str
    sections: tuple[Section, ...]
    body: Markup


def read() -> Guide:
    """Return the guide, rendered."""
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    reader.add_render_rule("fence", _block)
    _, title, _, *tokens = reader.parse((FOLDER / "GUIDE.md").read_text(encoding="utf-8"))
    sections = tuple(_sections(tokens))
    return Guide(title.content, sections, Markup(reader.renderer.render(tokens, reader.options, {})))  # noqa: S704


def _sections(tokens: Sequence[Token]) -> Iterator[Section]:
    """Give each heading its anchor."""
    for opening, inline in pairwise(tokens):
        if opening.type == "heading_open":
            anchor = "-".join(re.findall(r"\w+", inline.content.lower()))
            opening.attrSet("id", anchor)
            yield Section(inline.content, anchor)


def _block(_reader: Any, tokens: Sequence[Token], at: int, *_more: Any) -> str:
    """Return a block of code with what it is: a program, a request with its path, or a part of an answer."""
    form, _, rest = tokens[at].info.partition(" ")
    _, _, what = rest.partition(" ")
    caption = "From the answer" if what == "answer" else what or _LANGUAGES[form]
    return _BLOCK.format(caption, tokens[at].content)

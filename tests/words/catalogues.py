"""The sentences of the service, gathered from where they stand, and the catalogues of other languages.

Codes are read from service/codes.csv, which `python -m tests.codes` reads from the source; words of pages and tickets
are what templates and pages pass to `_`; problem types are a table of their own.
"""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from service import MODEL
from service.api.problems import TYPES
from service.api.words import ENGLISH, LANGUAGES
from service.codes import rows
from service.safety_rules import SAFETY_RULES
from tests.running import ROOT

FOLDER = ROOT / "service/api/words"
TEMPLATE = FOLDER / "messages.pot"
PAGES = ROOT / "service/api/pages"
OTHERS = tuple(language for language in LANGUAGES if language != ENGLISH)
METHODS = [("**.py", "python"), ("templates/**.html", "jinja2"), ("templates/**.txt", "jinja2")]
KEYWORDS = {"_": None, "say": None}


def sentences() -> Iterator[tuple[str, str]]:
    """Yield each English sentence, and what it is: a code with its kind, a problem type, a rule or a page."""
    for row in rows():
        if row["status"] != "deprecated":
            yield row["text"], f"{row['kind']} {row['code']}"
    for slug, kind in TYPES.items():
        yield kind.title, f"title of the problem {slug}"
        yield kind.explanation, f"explanation of the problem {slug}"
    for rule in SAFETY_RULES:
        yield rule.text, f"rule of the night {rule.code}"
        yield rule.short, f"rule of the night {rule.code}, on paper"
    for file, _, message, _, _ in extract_from_dir(PAGES, METHODS, keywords=KEYWORDS):
        yield str(message), f"page {Path(file).name}"


def template() -> Catalog:
    """Return every sentence once, with where it is used."""
    found = Catalog(project="Batch carbonation", version=MODEL, charset="utf-8", header_comment="# Every sentence.")
    for text, use in sentences():
        if text:
            found.add(text, auto_comments=[use])
    return found


def of(language: str) -> Catalog:
    """Return the catalogue of a language as it is kept."""
    with (FOLDER / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language)


def text_of(catalogue: Catalog) -> bytes:
    """Return a catalogue as it is kept: sorted, and without a head, whose dates would move with every run."""
    file = BytesIO()
    write_po(file, catalogue, sort_output=True, omit_header=True, width=120)
    return file.getvalue()

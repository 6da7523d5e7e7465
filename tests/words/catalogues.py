"""The sentences of the service, gathered from where they stand, and the catalogues of other languages.

Codes are read from service/codes.csv, which `python -m tests.codes` reads from the source; words of pages and tickets
are what templates and pages pass to `_`; problem types are a table of their own; words of ours that stand in sentences
are what `Term` is called with, and what tables and choices hold.
"""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import get_args

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from service import MODEL
from service.api.answers import AS_CITRIC
from service.api.app import OPERATIONS
from service.api.endpoint.computing import WORKS
from service.api.listing import lists
from service.api.prep_sheets import AT_MOST
from service.api.problems import TYPES
from service.api.references import REFERENCES
from service.api.words import ENGLISH, LANGUAGES
from service.chilling.asked import EnvironmentKey
from service.codes import rows
from service.drink.allergens import ALLERGEN_NAMES, ALLERGENS
from service.drink.spec import Clarity
from service.errors import AND_MORE
from service.limits import LIMITS
from service.limits.declared import REMARKS
from service.regas.calibrating.checks import NEXT
from service.safety_rules import SAFETY_RULES
from service.science import acids
from service.science.exposure import EXPOSURE_LIMITS
from service.science.flow.pipe import LineMaterial
from service.science.ingredients import INGREDIENTS
from service.science.vessel.rates import Agitation, PourManner
from service.site.air import Method
from service.spec_check.unstated import UNSTATED
from service.vessel import PRESETS, Condition, RatedBy
from tests.codes.source import sent_by_source
from tests.running import ROOT

FOLDER = ROOT / "service/api/words"
TEMPLATE = FOLDER / "messages.pot"
PAGES = ROOT / "service/api/pages"
OTHERS = tuple(language for language in LANGUAGES if language != ENGLISH)
TEMPLATES = ("welcome.html", "templates/**.html", "templates/**.txt")
METHODS = [("**.py", "python"), *((pattern, "jinja2") for pattern in TEMPLATES)]
KEYWORDS = {"_": None, "say": None, "many": (1, 2)}
SERVICE = ROOT / "service"
PYTHON = [("**.py", "python")]
Sentence = str | tuple[str, str]
"""A sentence, or what is said of one and of many."""


def sentences() -> Iterator[tuple[Sentence, str]]:
    """Yield each English sentence, and what it is: a code with its kind, a problem type, a rule, a word or a page."""
    for row in rows():
        if row["status"] != "deprecated":
            yield row["text"], f"{row['kind']} {row['code']}"
    for slug, kind in TYPES.items():
        yield kind.title, f"title of the problem {slug}"
        yield kind.explanation, f"explanation of the problem {slug}"
    for rule in SAFETY_RULES:
        yield rule.text, f"rule of the night {rule.code}"
        yield rule.short, f"rule of the night {rule.code}, on paper"
    for one in (*OPERATIONS, *REFERENCES, *lists(OPERATIONS, REFERENCES)):
        yield one.summary, f"what {one.operation_id} answers"
    for limit in LIMITS:
        yield limit.meaning, f"meaning of the {limit.kind} {limit.limit}"
    yield from ((text, "remark in place of a source") for text in REMARKS)
    yield from ((text, "part of a sentence") for text in (WORKS, AND_MORE, AS_CITRIC, AT_MOST))
    for file, _, message, _, _ in extract_from_dir(SERVICE, PYTHON, keywords={"counted": (1, 2)}):
        yield tuple(message), f"counted in {Path(file).name}"
    for found in sent_by_source():
        yield from ((text, f"assumption {found.code}") for text in found.words)
    yield from ((text, "word in a sentence") for text in words())
    for file, _, message, _, _ in extract_from_dir(PAGES, METHODS, keywords=KEYWORDS):
        yield message, f"page {Path(file).name}"


def words() -> Iterator[str]:
    """Yield words of ours that are put into sentences: of the source, of its choices, and of its tables."""
    for _, _, message, _, _ in extract_from_dir(SERVICE, PYTHON, keywords={"Term": None}):
        yield str(message)
    for _, _, message, _, _ in extract_from_dir(SERVICE, PYTHON, keywords={"OutsideValidity": None}):
        yield str(message[:1].upper() + message[1:])
    for choice in (Condition, RatedBy, Clarity, Method, Agitation, PourManner, LineMaterial, EnvironmentKey):
        yield from get_args(choice)
    for name in acids.ACIDS:
        yield from (name, f"{name} acid", f"{name.capitalize()} acid in water")
    for form in acids.FORMS.values():
        yield from (form.said, form.storage)
    for statement in acids.HAZARD_STATEMENTS.values():
        yield from (statement.text, statement.hazard_class, statement.what_to_do)
    for limit in EXPOSURE_LIMITS:
        yield from (limit.body, limit.limit, limit.averaging)
    yield from (preset.name for preset in PRESETS.values())
    yield from (known.name for known in (*INGREDIENTS.values(), *acids.COMPOSITIONS.values()))
    yield from (*ALLERGENS, *ALLERGEN_NAMES.values(), *NEXT, *UNSTATED.values())


def template() -> Catalog:
    """Return every sentence once, with where it is used."""
    found = Catalog(project="Batch carbonation", version=MODEL, charset="utf-8", header_comment="# Every sentence.")
    uses: dict[Sentence, dict[str, None]] = {}
    for text, use in sentences():
        uses.setdefault(text, {})[use] = None
    for text, each in uses.items():
        if text:
            found.add(text, auto_comments=list(each))
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

"""The languages of sentences: gettext catalogues whose keys are the English sentences of the source.

`python -m tests.words` gathers every sentence in messages.pot and brings it into the catalogue of each language.
"""

from collections.abc import Callable, Mapping
from functools import cache
from gettext import c2py
from importlib.resources import files
from typing import Literal, get_args

from babel.messages.catalog import Catalog
from babel.messages.plurals import get_plural
from babel.messages.pofile import read_po

Language = Literal["en", "es", "fr", "de"]
LANGUAGES: tuple[Language, ...] = get_args(Language)
ENGLISH: Language = "en"
FOLDER = files("service.api.words")


@cache
def catalogue(language: Language) -> Mapping[str, str]:
    """Return the sentences of a language by the English ones; of English none, which are as they are."""
    return {
        one.id: str(one.string)
        for one in _read(language)
        if isinstance(one.id, str) and one.id and one.string and not one.fuzzy
    }


@cache
def counted(language: Language) -> Mapping[str, tuple[str, ...]]:
    """Return the sentences that count something, in each plural form of a language, by the English one of a single."""
    return {
        one.id[0]: tuple(one.string)
        for one in _read(language)
        if isinstance(one.id, tuple) and isinstance(one.string, tuple) and all(one.string) and not one.fuzzy
    }


@cache
def _read(language: Language) -> Catalog:
    if language == ENGLISH:
        return Catalog(locale=language)
    with (FOLDER / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language)


@cache
def _plural_form(language: Language) -> Callable[[int], int]:
    """Return the rule of a language that tells the plural form of a count; source: Unicode CLDR through babel."""
    return c2py(get_plural(language).plural_expr)


def in_language(text: str, language: Language) -> str:
    """Return a sentence, its {names} not filled in yet, in a language; in English where that lacks it."""
    return catalogue(language).get(text, text)


def in_number(one: str, many: str, count: int, language: Language) -> str:
    """Return a sentence that counts something, for this count, in a language; in English where that lacks it."""
    forms = counted(language).get(one)
    return (one if count == 1 else many) if forms is None else forms[_plural_form(language)(count)]

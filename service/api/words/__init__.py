"""The languages of sentences: gettext catalogues whose keys are the English sentences of the source.

`python -m tests.words` gathers every sentence in messages.pot and brings it into the catalogue of each language.
"""

from functools import cache
from gettext import GNUTranslations, NullTranslations
from importlib.resources import files
from io import BytesIO
from typing import Literal, get_args

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

Language = Literal["en", "es", "fr", "de"]
LANGUAGES: tuple[Language, ...] = get_args(Language)
ENGLISH: Language = "en"
REVIEWED: frozenset[Language] = frozenset({ENGLISH})
"""Languages that a bartender of each has read through; dangers and refusals come in English beside any other."""
FOLDER = files("service.api.words")


@cache
def catalogue(language: Language) -> NullTranslations:
    """Return the sentences of a language; those of English are as they are."""
    if language == ENGLISH:
        return NullTranslations()
    compiled = BytesIO()
    with (FOLDER / f"{language}.po").open("rb") as file:
        write_mo(compiled, read_po(file, locale=language))
    compiled.seek(0)
    return GNUTranslations(compiled)


def in_language(text: str, language: Language) -> str:
    """Return a sentence, its {names} not filled in yet, in a language; in English where that lacks it."""
    return catalogue(language).gettext(text) if text else text


def counted_in_language(one: str, many: str, count: int, language: Language) -> str:
    """Return a sentence about so many, its {names} not filled in yet, in a language; in English where that lacks it."""
    return catalogue(language).ngettext(one, many, count)

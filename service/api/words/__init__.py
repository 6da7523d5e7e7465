"""The languages of sentences: gettext catalogues whose keys are the English sentences of the source.

`python -m tests.words` gathers every sentence in messages.pot and brings it into the catalogue of each language.
"""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Literal, get_args

from babel.messages.pofile import read_po

Language = Literal["en", "es", "fr", "de"]
LANGUAGES: tuple[Language, ...] = get_args(Language)
ENGLISH: Language = "en"
FOLDER = files("service.api.words")


@cache
def catalogue(language: Language) -> Mapping[str, str]:
    """Return the sentences of a language by the English ones; of English none, which are as they are."""
    if language == ENGLISH:
        return {}
    with (FOLDER / f"{language}.po").open("rb") as file:
        found = read_po(file, locale=language)
    return {str(one.id): str(one.string) for one in found if one.id and one.string and not one.fuzzy}


def in_language(text: str, language: Language) -> str:
    """Return a sentence, its {names} not filled in yet, in a language; in English where that lacks it."""
    return catalogue(language).get(text, text)

"""Catalogues of sentences: whole, with every placeholder, and each sentence fills in with whatever it may hold."""

import string
from collections.abc import Iterator

import pytest

from service.api.words import ENGLISH, LANGUAGES, catalogue, in_language
from tests.words.catalogues import OTHERS, TEMPLATE, of, sentences, template, text_of

EVERY = sorted({text for text, _ in sentences() if text})
EXTREME = ("0", "-12.345678901234", "9" * 60, "ñandú «Ω» 漢字 \u200fעברית\u200e", "{braces}")
"""What a parameter may come to as text, at its worst."""


def names(text: str) -> set[str]:
    """Return the placeholders of a sentence; braces of JSON that it shows as an example are none."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name and name.isidentifier()}


def lacking() -> Iterator[tuple[str, str]]:
    for language in OTHERS:
        known = catalogue(language)
        yield from ((language, text) for text in EVERY if text not in known)


def test_the_template_holds_every_sentence():
    assert TEMPLATE.read_bytes() == text_of(template()), "python -m tests.words gathers them"


@pytest.mark.parametrize("language", OTHERS)
def test_catalogues_hold_the_sentences_of_the_template_and_no_other(language):
    assert {one.id for one in of(language) if one.id} == set(EVERY), "python -m tests.words brings them in"


def test_english_is_as_it_is():
    assert in_language("Weigh {component}.", ENGLISH) == "Weigh {component}."
    assert LANGUAGES[0] == ENGLISH


@pytest.mark.parametrize("language", OTHERS)
def test_every_placeholder_is_in_every_language(language):
    wrong = {text: told for text, told in catalogue(language).items() if names(text) != names(told)}
    assert wrong == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_fills_in_with_whatever_it_holds(language):
    for text in EVERY:
        told = in_language(text, language)
        for worst in EXTREME:
            if '{"' not in told:  # told as it is
                assert told.format(**dict.fromkeys(names(told), worst)).strip(), text

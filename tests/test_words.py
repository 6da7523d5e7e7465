"""Catalogues of sentences: whole, with every placeholder, and each sentence fills in with whatever it may hold."""

import string
from gettext import NullTranslations

import pytest

from service.api.answers import Answer
from service.api.app import create_app
from service.api.openapi import example
from service.api.speech import Speech
from service.api.words import ENGLISH, LANGUAGES, REVIEWED, counted_in_language, in_language
from service.errors import Names, Term
from tests.words.catalogues import OTHERS, TEMPLATE, of, sentences, template, text_of

SAID = {text for text, _ in sentences() if text}
COUNTED = sorted(text for text in SAID if isinstance(text, tuple))
EVERY = sorted(text for text in SAID if isinstance(text, str))
EXTREME = ("0", "-12.345678901234", "9" * 60, "ñandú «Ω» 漢字 \u200fעברית\u200e", "{braces}")
"""What a parameter may come to as text, at its worst."""


def names(text: str) -> set[str]:
    """Return the placeholders of a sentence."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def test_the_template_holds_every_sentence():
    assert TEMPLATE.read_bytes() == text_of(template()), "python -m tests.words gathers them"


@pytest.mark.parametrize("language", OTHERS)
def test_catalogues_hold_the_sentences_of_the_template_and_no_other(language):
    assert {one.id for one in of(language) if one.id} == SAID, "python -m tests.words brings them in"


def test_english_is_as_it_is():
    assert in_language("Weigh {component}.", ENGLISH) == "Weigh {component}."
    assert LANGUAGES[0] == ENGLISH


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_is_translated(language):
    """What is not is told in English, which only a person who knows both would notice."""
    lacking = [one.id for one in of(language) if not all(one.string if isinstance(one.string, tuple) else [one.string])]
    assert lacking == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_placeholder_is_in_every_language(language):
    for one in of(language):
        if isinstance(one.id, tuple):
            assert all(names(one.id[0]) <= names(form) <= names(one.id[1]) for form in one.string if form), one.id
        elif one.string:
            assert names(one.string) == names(one.id), one.id


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_fills_in_with_whatever_it_holds(language):
    for text in EVERY:
        told = in_language(text, language)
        for worst in EXTREME:
            assert told.format(**dict.fromkeys(names(told), worst)).strip(), text


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("count", [0, 1, 2, 5, 1_000_000])
def test_what_is_counted_is_said_of_any_number(language, count):
    for one, many in COUNTED:
        said = counted_in_language(one, many, count, language)
        assert names(one) <= names(said) <= names(many)  # a single may do without its number
        assert said.format(**dict.fromkeys(names(said), str(count))).strip()


def test_one_and_many_differ():
    assert COUNTED
    assert all(counted_in_language(one, many, 1, ENGLISH) == one != many for one, many in COUNTED)


# Words of ours inside sentences, and what is told twice


KNOWN = {
    "Bin the {what} one.": "Tire el {what}.",
    "creased": "arrugado",
    "{names} and {count} more": "{names} y {count} más",
}


class Spanish(NullTranslations):
    """Stands in for a catalogue that knows two sentences and a word."""

    def gettext(self, message):
        return KNOWN.get(message, message)


@pytest.fixture
def spanish(monkeypatch):
    known = {ENGLISH: NullTranslations(), "es": Spanish()}
    monkeypatch.setattr("service.api.words.catalogue", known.get)
    return Answer("metric", Speech(language="es"))


def test_a_word_of_ours_is_told_in_the_language_and_a_name_is_not(spanish):
    assert spanish.sentence("Bin the {what} one.", {"what": Term("creased")}) == "Tire el arrugado."
    assert spanish.sentence("Bin the {what} one.", {"what": "creased"}) == "Tire el creased."
    assert spanish.show(Names([Term("creased"), "Gin", "Rum"], most=2)) == "arrugado, Gin y 1 más"


def test_a_word_of_ours_may_hold_numbers():
    assert Term("fewer than {most}", most=10.0) == "fewer than 10"
    assert Answer("metric").show(Term("fewer than {most}", most=10.0)) == "fewer than 10"


def test_a_danger_comes_in_english_too_until_the_language_is_reviewed(spanish, monkeypatch):
    what = {"what": Term("creased")}
    assert frozenset({ENGLISH}) == REVIEWED
    assert spanish.warned("Bin the {what} one.", what) == "Tire el arrugado. / Bin the creased one."
    assert Answer("metric").warned("Bin the {what} one.", what) == "Bin the creased one."
    monkeypatch.setattr("service.api.answers.REVIEWED", frozenset(LANGUAGES))
    assert spanish.warned("Bin the {what} one.", what) == "Tire el arrugado."


class SpanishProblems(Spanish):
    """Knows what is said of a request that is not valid."""

    def gettext(self, message):
        return {
            "The request is not valid": "La petición no es válida",
            "Must be at least {low} and at most {high}.": "De {low} a {high}.",
        }.get(message, message)

    def ngettext(self, one, many, count):
        return "{count} campo no es válido." if count == 1 else "{count} campos no son válidos."


@pytest.mark.parametrize("wrong, detail", [
    ({"fill": 7}, "1 campo no es válido."), ({"fill": 7, "a": 1}, "2 campos no son válidos."),
])  # fmt: skip
def test_a_problem_speaks_the_language_of_the_caller(monkeypatch, wrong, detail):
    known = {ENGLISH: NullTranslations(), "es": SpanishProblems()}
    monkeypatch.setattr("service.api.words.catalogue", known.get)
    client, body = create_app({"AUTH": "open"}).test_client(), example("createCharges") | wrong
    problem = client.post("/v1/carbonation/charges", json=body, headers={"Accept-Language": "es-MX"}).get_json()
    assert (problem["title"], problem["detail"]) == ("La petición no es válida", detail)
    (error,) = (one for one in problem["errors"] if one["pointer"] == "/fill")
    assert error["text"] == "De 0.05 a 1."  # a field that is amiss is no danger and no refusal: told once
    assert [(one["name"], one["value"]) for one in error["params"]] == [("low", 0.05), ("high", 1.0)]

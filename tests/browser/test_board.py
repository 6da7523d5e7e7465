"""The board of an evening as a screen, a phone and two papers show it."""

import copy
import re
from typing import Any

import pytest

from service.api.openapi import example
from service.api.words import LANGUAGES
from tests.browser.test_sheet import HARD, PAPERS, PHONE, sheets, too_wide, words

PATH = "/v1/service-plans"
SIDES = {
    "en": ("The evening", "Bench", "Draught", "Bar", "Manager", "Every night"),
    "es": ("La noche", "Preparación", "De grifo", "Barra", "Encargado", "Todas las noches"),
    "fr": ("La soirée", "Labo", "Tirage", "Bar", "Responsable", "Chaque soir"),
    "de": ("Der Abend", "Arbeitsplatz", "Am Hahn", "Bar", "Barleitung", "Jeden Abend"),
}
"""What stands at the head of the first side, and of the stations on the second."""


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createServicePlan"))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_board_has_no_fault_for_those_who_cannot_see_it(show, url, body, page, axe, shot, scheme):
    page.emulate_media(color_scheme=scheme)
    show(f"{url}{PATH}", body)
    assert axe() == []
    assert page.locator("h1").count() == 1
    assert page.locator("script").count() == 0
    assert page.locator("[style]").count() == 0
    shot(f"board-{scheme}")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_board_fits_a_phone(show, url, body, page, axe, shot, scheme):
    """The time line alone is wider, and is pushed along in its own frame."""
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size(PHONE)
    show(f"{url}{PATH}", body)
    assert too_wide(page) == 0
    assert axe() == []
    shot(f"board-phone-{scheme}")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", PAPERS)
def test_five_drinks_are_two_sides_of_paper(show, url, body, page, paper, language):
    body["site"]["locale"] = language
    show(f"{url}{PATH}", body)
    printed = sheets(page, paper)
    assert len(printed) == 2
    for sheet in printed:
        assert sheet.get_size() == pytest.approx([mm / 25.4 * 72 for mm in reversed(PAPERS[paper])], abs=1.0)
    first, *stations = SIDES[language]
    assert words(printed[0]).startswith(("1 / 2 " + first, first))
    for name in stations:
        assert re.search(rf"\b{name}\b", words(printed[1]))
    for drink in body["drinks"]:
        assert drink["spec"]["name"] in words(printed[0])


@pytest.mark.parametrize("name", HARD)
def test_what_a_caller_writes_stays_text_and_breaks_no_layout(show, url, body, page, axe, shot, name):
    page.on("dialog", lambda dialog: pytest.fail("a script ran"))
    for number, drink in enumerate(body["drinks"]):
        drink["spec"]["name"] = HARD[name]
        drink["spec"]["components"][0]["name"] = f"{HARD[name][:198]}{number}"
    body["site"]["name"] = HARD[name]
    del body["prices"], body["on_hand"]
    show(f"{url}{PATH}", body)
    assert page.locator("main script, main img, main style").count() == 0
    assert axe() == []
    assert too_wide(page) == 0
    page.set_viewport_size(PHONE)
    assert too_wide(page) == 0
    shot(f"board-{name}-phone")


def test_drinks_are_told_apart_by_letter_and_pattern_on_every_bar(show, url, body, page):
    """The letters of the line-up stand in the time line, each on its pattern; a grey printer shows both."""
    show(f"{url}{PATH}", body)
    fills = dict[str, set[str]]()
    for group in page.locator(".drawing g:has(text)").all():
        letter = group.locator("text").text_content()
        if len(letter) == 1:
            fills.setdefault(letter, set()).add(group.locator("rect").get_attribute("fill"))
    assert sorted(fills) == ["A", "B", "C", "D", "E"]
    assert all(len(used) == 1 for used in fills.values())
    assert len(set.union(*fills.values())) == 5
    swatches = page.locator(".lineup .swatch rect").evaluate_all("all => all.map(e => e.getAttribute('fill'))")
    assert [next(iter(fills[letter])) for letter in "ABCDE"] == swatches


@pytest.mark.parametrize("paper", PAPERS)
def test_no_row_of_twelve_drinks_is_cut(show, url, body, page, paper, shot):
    first = body["drinks"][0] | {"demand": {"serves": 4}, "carbonation": {"charge_count": 2}}
    body["drinks"] = [first | {"id": f"d{i}"} for i in range(12)]
    body["begins_at"] = "2026-11-28T06:00:00+01:00"
    del body["jugs"]
    show(f"{url}{PATH}", body)
    printed = sheets(page, paper)
    told = page.locator(".bench tbody tr").evaluate_all("all => all.map(e => e.innerText.split(/\\s+/).join(''))")
    assert len(told) > 12
    sides = [words(sheet).replace(" ", "") for sheet in printed]  # a PDF has glyphs and where they stand, no blanks
    for row in told:
        assert any(row in side for side in sides), row
    shot("board-twelve")

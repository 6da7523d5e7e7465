"""Plots as Chromium draws them: words by its own measure, in the dark, and on a phone."""

import json
from itertools import combinations

import pytest

from service.api.openapi import example
from service.api.pages.chart import HEADING, TEXT, room

PATHS = {"createSetPoints": "/v1/carbonation/set-points", "createRegasForecast": "/v1/regas/forecasts"}
PHONE = {"width": 360, "height": 740}  # CSS pixels of common small phones; common practice, no source
LEAST_PX = 9.0
"""The smallest text of a plot on such a phone; common practice, no source."""
PLACES = """elements => elements.map(each => {
  const {left, right, top, bottom} = each.getBoundingClientRect();
  const parts = each.children.length ? [...each.children] : [each];
  return {words: parts.map(part => part.textContent), widths: parts.map(part => part.getComputedTextLength()),
          heading: each.matches(".plot-heading"), left, right, top, bottom}})"""


def drawn(page, url, operation, language, **changed):
    answer = page.request.post(f"{url}{PATHS[operation]}?format=svg", data={**example(operation), **changed},
                               headers={"Accept-Language": language})  # fmt: skip
    assert answer.ok, answer.text()
    page.set_content(f'<body style="margin: 0">{answer.text()}')
    return page.eval_on_selector_all("svg text", PLACES)


@pytest.mark.parametrize("language", ["en", "es", "fr", "de"])
@pytest.mark.parametrize("operation", PATHS)
def test_no_word_touches_another_on_a_phone(page, url, shot, operation, language):
    page.set_viewport_size(PHONE)
    placed = drawn(page, url, operation, language)
    shot(f"{operation}-{language}")
    assert all(each["left"] >= 0.0 and each["right"] <= PHONE["width"] for each in placed)
    for one, other in combinations(placed, 2):
        apart = one["right"] <= other["left"] or other["right"] <= one["left"]
        # boxes of lines hold room for marks above and below, which none of ours fills
        assert apart or one["bottom"] <= other["top"] + 2.0 or other["bottom"] <= one["top"] + 2.0, (one, other)
    assert TEXT * PHONE["width"] / page.locator("svg").evaluate("each => each.viewBox.baseVal.width") >= LEAST_PX


@pytest.mark.parametrize("language", ["en", "es", "fr", "de"])
@pytest.mark.parametrize("operation", PATHS)
def test_words_take_no_more_room_than_they_are_given(page, url, operation, language):
    """By Chromium's own measure, in its sans serif font."""
    for each in drawn(page, url, operation, language):
        for words, width in zip(each["words"], each["widths"], strict=True):
            assert width <= (1.12 * room(words, HEADING) if each["heading"] else room(words)), words


def test_a_refused_temperature_keeps_clear_of_the_names_of_lines(page, url):
    """Beyond the curve, whose lines are named where they end."""
    far = [{"value": value, "unit": "c"} for value in (1, 30)]
    placed = drawn(page, url, "createSetPoints", "en", temperatures=far)
    cross = page.locator("svg > path.plot-limit-line").nth(-2).bounding_box()
    below = cross["y"] + cross["height"]
    for each in placed:
        assert each["bottom"] <= cross["y"] or each["top"] >= below or each["right"] <= cross["x"]


def test_a_plot_in_the_dark_is_light_on_dark(page, url, shot):
    """Every colour of the page's own plots, over the page's own ground, at the ratio of WCAG 2.2: 4.5 for words."""
    page.emulate_media(color_scheme="dark")
    answer = page.request.post(f"{url}/v1/prep-sheets", data=json.dumps(example("createPrepSheet")),
                               headers={"Accept": "text/html", "Content-Type": "application/json"})  # fmt: skip
    page.set_content(answer.text())
    figures = page.locator("figure")
    assert figures.count() == 2
    ground = luminance(figures.first.locator(".plot-ground").evaluate("each => getComputedStyle(each).fill"))
    fills = set(page.eval_on_selector_all("figure text", "found => found.map(each => getComputedStyle(each).fill)"))
    assert len(fills) > 1
    assert all((luminance(each) + 0.05) / (ground + 0.05) >= 4.5 for each in fills)
    figures.first.scroll_into_view_if_needed()
    shot("plots-dark")


def luminance(color: str) -> float:
    """Return the relative luminance of an rgb() color (WCAG 2.2, definitions)."""
    parts = [int(part) / 255.0 for part in color.removeprefix("rgb(").removesuffix(")").split(",")]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(share * part for share, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

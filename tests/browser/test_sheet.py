"""The prep sheet's pages as a screen, a phone and two papers show them."""

import copy
import re
from math import radians, tan
from typing import Any

import pytest

from service.api.openapi import example

PATH = "/v1/prep-sheets"
PHONE = {"width": 390, "height": 844}  # CSS pixels of common phones; common practice, no source
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # mm; ISO 216, ANSI/ASME Y14.1
MARGIN_MM = 13.0
PX_PER_MM = 96 / 25.4  # CSS Values and Units Level 4, section 6.2
ARM_MM = 700.0  # about arm's length; common practice, no source
DIGIT_SHARE = 0.7
"""Height of a digit over the size of its font, at least; of the sans serif fonts named, from memory."""
HARD = {
    "markup": "<script>alert(1)</script><img src=x onerror=alert(2)>",
    "template": "{{ 7 * 7 }}</style><style>*{display:none}</style>",
    "formula": '=HYPERLINK("http://example.com")',
    "rtl": "ג'ין \u202eerucsbo שלום 100%",
    "emoji": "\U0001f378" * 100,
    "long": "w" * 200,
    "wordy": ("Bergamot and rhubarb and verjus " * 7)[:199],
}


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createPrepSheet"))


def worded(body: dict[str, Any], words: str) -> dict[str, Any]:
    """With these words wherever a caller may write some."""
    body["spec"]["name"] = words
    for number, component in enumerate(body["spec"]["components"]):
        component["name"] = f"{words[:199]}{number}"
        component.pop("allergens", None)
    body["spec"]["components"][1]["clarity"] = "pulpy"
    body["spec"]["serve"] = dict.fromkeys(body["spec"]["serve"], words)
    body["lot"] = words[:64]
    del body["prices"]
    return body


def too_wide(page) -> int:
    """CSS pixels by which anything is wider than the window."""
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


def on_paper(page, paper: str) -> None:
    """The page as it is laid out between the margins of a paper."""
    page.emulate_media(media="print")
    wide, high = PAPERS[paper]
    page.set_viewport_size({"width": int((wide - 2 * MARGIN_MM) * PX_PER_MM), "height": int(high * PX_PER_MM)})


def test_the_sheet_has_no_fault_for_those_who_cannot_see_it(show, url, body, axe, shot):
    page = show(f"{url}{PATH}", body)
    assert axe() == []
    assert page.locator("h1").count() == 1
    assert page.locator("script").count() == 0
    shot("sheet")


def test_the_sheet_fits_a_phone(show, url, body, page, axe, shot):
    page.set_viewport_size(PHONE)
    show(f"{url}{PATH}", body)
    assert too_wide(page) == 0
    assert axe() == []
    shot("sheet-phone")


@pytest.mark.parametrize("name", HARD)
def test_what_a_caller_writes_stays_text_and_breaks_no_layout(show, url, body, page, axe, shot, name):
    page.on("dialog", lambda dialog: pytest.fail("a script ran"))
    show(f"{url}{PATH}", worded(body, HARD[name]))
    assert page.locator("main script, main img, main style").count() == 0
    assert page.locator("h1 bdi").inner_text() == re.sub("\u202e", "", HARD[name]).strip()
    assert axe() == []
    for paper in PAPERS:
        on_paper(page, paper)
        assert too_wide(page) == 0
    shot(f"sheet-{name}-paper")
    page.emulate_media(media="screen")
    page.set_viewport_size(PHONE)
    assert too_wide(page) == 0
    shot(f"sheet-{name}-phone")


@pytest.mark.parametrize("paper", PAPERS)
def test_the_sheet_prints_on_both_papers(show, url, body, page, paper, shot):
    show(f"{url}{PATH}", body)
    printed = page.pdf(format=paper)
    boxes = {tuple(map(float, box)) for box in re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", printed)}
    (size,) = boxes
    assert size == pytest.approx([mm / 25.4 * 72 for mm in PAPERS[paper]], abs=1.0)  # to a point
    on_paper(page, paper)
    assert too_wide(page) == 0
    for part in ("manager", "labels"):
        assert page.locator(f"#{part}").evaluate("e => getComputedStyle(e).breakBefore") == "page"
    shot(f"sheet-{paper}")


@pytest.mark.parametrize("paper", PAPERS)
def test_no_step_is_cut_by_the_end_of_a_paper(show, url, body, page, paper):
    show(f"{url}{PATH}", body)
    on_paper(page, paper)
    heights = page.locator(".steps li, .labels li, figure, tr").evaluate_all("all => all.map(e => e.offsetHeight)")
    assert max(heights) < (PAPERS[paper][1] - 2 * MARGIN_MM) * PX_PER_MM
    for selector in (".steps li", ".labels li", "figure", "tr"):
        breaks = page.locator(selector).evaluate_all("all => all.map(e => getComputedStyle(e).breakInside)")
        assert set(breaks) == {"avoid"}


def test_the_numbers_of_the_bench_are_read_at_arms_length(show, url, body, page):
    """Digits subtend 22 minutes of arc or more: ISO 9241-303:2011, 20 to 22 preferred for Latin characters, from
    memory."""
    show(f"{url}{PATH}", body)
    on_paper(page, "A4")
    least_mm = ARM_MM * tan(radians(22 / 60))
    sizes = page.locator(".steps .value:not(.long) dd b, .brief .never dd").evaluate_all(
        "all => all.map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert len(sizes) > 20
    assert min(sizes) * DIGIT_SHARE / PX_PER_MM >= least_mm


def test_each_number_of_the_bench_has_a_line_of_its_own(show, url, body, page):
    show(f"{url}{PATH}", body)
    for size in (PHONE, {"width": 1100, "height": 900}):
        page.set_viewport_size(size)
        tops = page.locator(".steps .value dd").evaluate_all("all => all.map(e => e.getBoundingClientRect().top)")
        assert len(set(tops)) == len(tops)


def test_never_over_stands_out_without_colour(show, url, body, page):
    """Larger than every other number, in a double frame: a grey printer shows both."""
    show(f"{url}{PATH}", body)
    on_paper(page, "A4")
    size = "e => parseFloat(getComputedStyle(e).fontSize)"
    never = [page.locator(selector).evaluate(size) for selector in (".brief .never dd", ".value.never dd")]
    others = page.locator(".steps .value:not(.never) dd").evaluate_all(f"all => all.map({size})")
    assert min(never) > max(others)
    assert page.locator(".never").evaluate_all("all => all.map(e => getComputedStyle(e).borderStyle)") == ["double"] * 2


def test_a_box_is_ticked_without_a_script(show, url, body, page):
    show(f"{url}{PATH}", body)
    box = page.locator("#step-2")
    assert not box.is_checked()
    page.locator("label[for=step-2]").click()
    assert box.is_checked()
    assert min(box.bounding_box()[side] for side in ("width", "height")) >= 24  # WCAG 2.2, success criterion 2.5.8

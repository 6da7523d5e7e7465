"""The prep sheet's pages as a screen, a phone and two papers show them."""

import copy
import json
import re
from io import BytesIO
from math import radians, tan
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from service.api.openapi import example
from service.api.openapi.paths import examples

PATH = "/v1/prep-sheets"
PHONE = {"width": 360, "height": 740}  # CSS pixels of common small phones; common practice, no source
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
    "cjk": "香檸檬と大黄のハイボール" * 12,
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


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_sheet_has_no_fault_for_those_who_cannot_see_it(show, url, body, page, axe, shot, scheme):
    page.emulate_media(color_scheme=scheme)
    show(f"{url}{PATH}", body)
    page.locator("summary").click()
    assert axe() == []
    assert page.locator("h1").count() == 1
    assert page.locator("script").count() == 0
    shot(f"sheet-{scheme}")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_sheet_fits_a_phone(show, url, body, page, axe, shot, scheme):
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size(PHONE)
    show(f"{url}{PATH}", body)
    assert too_wide(page) == 0
    assert axe() == []
    shot(f"sheet-phone-{scheme}")


def test_a_label_is_read_off_the_dark_screen_of_a_phone(browser, url, body):
    """ISO/IEC 18004, by a reader that this project did not write: zxing-cpp. Three dots a pixel: common practice,
    no source."""
    with browser.new_context(viewport=PHONE, device_scale_factor=3, color_scheme="dark") as context:
        phone = context.new_page()
        answer = phone.request.post(f"{url}{PATH}", data=body, headers={"Accept": "text/html"})
        phone.set_content(answer.text())
        picture = Image.open(BytesIO(phone.locator(".labels .code").first.screenshot(scale="device")))
    (code,) = zxingcpp.read_barcodes(picture)
    assert json.loads(code.text)["lot"] == body["lot"]


@pytest.mark.parametrize("paper", PAPERS)
def test_every_label_is_read_off_the_paper(show, url, body, page, paper):
    """At 203 dots to the inch, as label printers have; common practice, no source."""
    show(f"{url}{PATH}", body)
    printed = sheets(page, paper)[-1].render(scale=203 / 72, grayscale=True).to_numpy()
    codes = zxingcpp.read_barcodes(printed.reshape(printed.shape[:2]))
    assert [json.loads(code.text)["lot"] for code in codes] == [body["lot"]] * 8


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


def sheets(page, paper: str) -> list[Any]:
    """The sheets of paper that the page is printed on."""
    return list(pypdfium2.PdfDocument(page.pdf(format=paper)))


def words(sheet: Any) -> str:
    return " ".join(sheet.get_textpage().get_text_range().split())


@pytest.mark.parametrize("paper", PAPERS)
def test_the_sheet_prints_on_both_papers(show, url, body, page, paper, shot):
    """One drink: two sides for the bench, two for the manager, one of labels; each with name, lot and place."""
    show(f"{url}{PATH}", body)
    printed = sheets(page, paper)
    for sheet in printed:
        assert sheet.get_size() == pytest.approx([mm / 25.4 * 72 for mm in PAPERS[paper]], abs=1.0)  # to a point
        for told in (body["spec"]["name"], body["lot"], body["site"]["name"]):
            assert told in words(sheet)
    parts = [re.match(r"\d+ / \d+ (\w+)", words(sheet))[1] for sheet in printed]
    assert parts == ["Bench"] * 2 + ["Manager"] * 2 + ["Labels"]
    on_paper(page, paper)
    assert too_wide(page) == 0
    shot(f"sheet-{paper}")


@pytest.mark.parametrize("paper", PAPERS)
def test_forty_components_start_on_the_first_page_and_keep_their_figures(show, url, body, page, paper, shot):
    water = body["spec"]["components"][3]
    names = [f"Water of spring {i}" for i in range(36)]
    more = [{**water, "name": name, "amount": {"value": 3 + 0.1 * i, "unit": "ml"}} for i, name in enumerate(names)]
    body["spec"]["components"] = [*body["spec"]["components"][:3], water, *more]
    show(f"{url}{PATH}", body)
    printed = sheets(page, paper)
    first = next(i for i, sheet in enumerate(printed) if names[-1] in words(sheet))
    assert first == 0  # what is most is weighed first
    figures = {}
    for line in page.locator(".line:has(input)").all():
        figures[line.locator("label").inner_text()] = line.locator("dd b").inner_text()
    assert len(figures) == 44
    for name in names:
        (on,) = [
            sheet for sheet in printed[:4] if f"{name} {figures[name]}" in words(sheet) and "Bench" in words(sheet)
        ]
        assert body["lot"] in words(on)
    shot(f"sheet-forty-{paper}")


@pytest.mark.parametrize("paper", PAPERS)
def test_no_figure_is_cut_by_the_end_of_a_paper(show, url, body, page, paper):
    show(f"{url}{PATH}", body)
    on_paper(page, paper)
    for selector in (".tasks li:not(.many)", ".line", ".labels > li", "figure", "tr"):
        heights = page.locator(selector).evaluate_all("all => all.map(e => e.getBoundingClientRect().height)")
        assert max(heights) < (PAPERS[paper][1] - 2 * MARGIN_MM) * PX_PER_MM
        breaks = page.locator(selector).evaluate_all("all => all.map(e => getComputedStyle(e).breakInside)")
        assert set(breaks) == {"avoid"}, selector


def test_the_numbers_of_the_bench_are_read_at_arms_length(show, url, body, page):
    """Digits subtend 22 minutes of arc or more: ISO 9241-303:2011, 20 to 22 preferred for Latin characters, from
    memory."""
    show(f"{url}{PATH}", body)
    on_paper(page, "A4")
    least_mm = ARM_MM * tan(radians(22 / 60))
    sizes = page.locator(".line:not(.words) dd b, .dial b, .never b, .gauge td").evaluate_all(
        "all => all.map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert len(sizes) > 20
    assert min(sizes) * DIGIT_SHARE / PX_PER_MM >= least_mm


def test_the_dial_is_the_largest_and_its_limit_stands_beside_it_in_a_frame(show, url, body, page):
    """A grey printer shows a double frame."""
    show(f"{url}{PATH}", body)
    on_paper(page, "A4")
    size = "e => parseFloat(getComputedStyle(e).fontSize)"
    set_step = page.locator(".figures:has(.dial)")
    dial, never = (set_step.locator(f"{one} b").evaluate(size) for one in (".dial", ".never"))
    others = page.locator("main b, main dd, main td").evaluate_all(f"all => all.map({size})")
    assert dial == max(others)
    assert sum(other == dial for other in others) == 1
    assert never < dial
    framed = page.locator(".never").evaluate_all("all => all.map(e => getComputedStyle(e).borderStyle)")
    assert set(framed) == {"double"}
    beside = [set_step.locator(one).bounding_box() for one in (".dial", ".never")]
    assert beside[1]["x"] > beside[0]["x"] + beside[0]["width"]
    assert abs(beside[1]["y"] - beside[0]["y"]) < beside[0]["height"]


def test_a_box_is_ticked_without_a_script(show, url, body, page):
    show(f"{url}{PATH}", body)
    box = page.locator("#step-2")
    assert not box.is_checked()
    box.click()
    assert box.is_checked()
    page.locator("#tick-2-1 + label").click()
    assert page.locator("#tick-2-1").is_checked()
    assert min(box.bounding_box()[side] for side in ("width", "height")) >= 24  # WCAG 2.2, success criterion 2.5.8


# On draught


@pytest.fixture
def tapped() -> dict[str, Any]:
    """A drink on draught through a long line."""
    body = copy.deepcopy(examples("createPrepSheet")["draught"]["value"])
    cold = {"material": "steel", "inner_diameter": {"value": 8, "unit": "mm"}, "length": {"value": 6, "unit": "m"}}
    body["draught"]["segments"] = [cold, *body["draught"]["segments"]]
    body["draught"] |= {"gas": {"co2_percent": 80}, "serves_per_day": 30}
    return body


@pytest.mark.parametrize("locale", ["en-GB", "es-ES", "fr-FR", "de-DE"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_of_the_tap_has_no_fault_and_fits_a_phone(show, url, tapped, page, axe, shot, scheme, locale):
    tapped["site"]["locale"] = locale
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size(PHONE)
    show(f"{url}{PATH}", tapped)
    assert too_wide(page) == 0
    assert axe() == []
    assert page.locator("nav a[href='#draught']").count() == 1
    shot(f"sheet-draught-phone-{scheme}-{locale}")


@pytest.mark.parametrize("locale", ["en-GB", "es-ES", "fr-FR", "de-DE"])
@pytest.mark.parametrize("paper", PAPERS)
def test_the_page_of_the_tap_has_all_that_is_done_on_its_first_side(show, url, tapped, page, paper, shot, locale):
    """The dial, the glass to time and every cause of foam; the line and the keg may go on, as in longer languages."""
    tapped["site"]["locale"] = locale
    show(f"{url}{PATH}", tapped)
    title = page.locator("#draught-title").inner_text()
    on = [sheet for sheet in sheets(page, paper) if re.match(rf"\d+ / \d+ {title} ", words(sheet))]
    assert len(on) <= 2
    first = words(on[0])
    rows = page.locator("#draught .foams tbody tr .action").all_inner_texts()
    done = page.locator("#draught .tasks .text, #draught .dial b").all_inner_texts()
    assert len(rows) == 7
    for told in (tapped["spec"]["name"], tapped["site"]["name"], *rows, *done):
        assert " ".join(told.split()) in first
    on_paper(page, paper)
    assert too_wide(page) == 0
    shot(f"sheet-draught-{paper}-{locale}")


def test_at_the_tap_the_dial_is_the_largest_and_its_limit_smaller_beside_it(show, url, tapped, page):
    show(f"{url}{PATH}", tapped)
    on_paper(page, "A4")
    size = "e => parseFloat(getComputedStyle(e).fontSize)"
    dial, never = (page.locator(f"#draught {one} b").evaluate(size) for one in (".dial", ".never"))
    others = page.locator("#draught b, #draught dd, #draught td").evaluate_all(f"all => all.map({size})")
    assert dial == max(others)
    assert sum(other == dial for other in others) == 1
    assert never < dial
    beside = [page.locator(f"#draught {one}").bounding_box() for one in (".dial", ".never")]
    assert beside[1]["x"] > beside[0]["x"] + beside[0]["width"]


def test_what_shows_a_cause_of_foam_is_read_at_arms_length(show, url, tapped, page):
    """Hold the figures to the height that those of the bench have."""
    show(f"{url}{PATH}", tapped)
    on_paper(page, "A4")
    least_mm = ARM_MM * tan(radians(22 / 60))
    sizes = page.locator("#draught .is b").evaluate_all("all => all.map(e => parseFloat(getComputedStyle(e).fontSize))")
    assert len(sizes) >= 8
    assert min(sizes) * DIGIT_SHARE / PX_PER_MM >= least_mm

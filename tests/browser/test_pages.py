"""The landing page and the API page as people meet them."""

import json
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from service.api.app import OPERATIONS
from service.api.problems import TYPES
from service.api.references import REFERENCES
from tests.browser.conftest import KEY, SHOTS
from tests.document.guide import GUIDE
from tests.words.catalogues import OTHERS, of

PHONE = {"width": 360, "height": 740}  # CSS pixels of common small phones; common practice, no source
DESK = {"width": 1280, "height": 800}  # CSS pixels of common laptops; common practice, no source
MARKUP = "<img src=x onerror=alert(1)><script>alert(2)</script>"
COMPOSITION = {"composition": {"abv": 9, "sugar": {"value": 70, "unit": "g/l"}}}


def wide(page: Page) -> int:
    """CSS pixels by which the page is wider than its window."""
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


def ask(page: Page, **request: object) -> None:
    page.fill("#request", json.dumps({"drink": COMPOSITION, "target": {"value": 6, "unit": "g/l"}, **request}))
    page.click("#run")


def temperature(value: float) -> list[dict[str, object]]:
    return [{"value": value, "unit": "c"}]


# The landing page


def test_the_landing_page_runs_its_example(page, url, axe, shot):
    page.goto(url)
    assert axe() == []
    shot("welcome")
    page.click("#run")
    expect(page.locator("#status")).to_have_text("Answered.")
    expect(page.locator(".figures tbody tr")).to_have_count(2)
    expect(page.locator(".figures .typical").first).to_contain_text("bar")
    page.locator("#answer summary").last.click()
    assert axe() == []
    shot("welcome-answered")


def refusal_of(page: Page, **request: object) -> tuple[Any, str]:
    """Asks for what is refused; the problem, and what the page shows of it."""
    with page.expect_response("**/v1/carbonation/set-points") as asked:
        ask(page, **request)
    expect(page.locator("#status")).to_have_text("Refused with status 422.")
    return asked.value.json(), "\n".join(page.locator("#answer > :not(details)").all_inner_texts())


def test_a_refusal_is_shown_once_and_its_nearest_works(page, url, axe, shot):
    page.goto(url)
    problem, shown = refusal_of(page, temperatures=temperature(-9))
    assert problem["errors"]
    nearest = f"{problem['nearest'][0]['pointer']} = "
    for said in (problem["title"], *(error["text"] for error in problem["errors"]), nearest):
        assert shown.count(said) == 1
    assert axe() == []
    shot("welcome-refused")
    page.click(".offer")
    expect(page.locator("#status")).to_have_text("Answered.")


def test_of_several_faults_each_sentence_is_shown_once_and_an_offer_works(page, url, shot):
    page.goto(url)
    target = {"value": 14, "unit": "g/l"}
    problem, shown = refusal_of(page, temperatures=temperature(1), target=target, vessel={"preset": "pet-1-l"})
    approval = "The maker's rating, local code and a competent person decide; this is arithmetic, not approval."
    assert sum(approval in error["text"] for error in problem["errors"]) > 1
    assert shown.count(approval) == 1
    assert all(shown.count(offer["text"]) == 1 for offer in problem["offers"])
    shot("welcome-refused-twice")
    page.locator(".offer").first.click()
    expect(page.locator("#status")).to_have_text("Answered.")


def test_what_is_not_json_is_told_so(page, url):
    page.goto(url)
    page.fill("#request", '{"drink": ')
    page.click("#run")
    expect(page.locator("#answer")).to_contain_text("The body is not JSON")


@pytest.mark.parametrize(
    "name", [MARKUP, "\u202eerucsbo", "\U0001f34b" * 60, "w" * 200], ids=["markup", "rtl", "emoji", "long"]
)
def test_what_a_caller_sends_stays_text(page, url, name, shot, request):
    page.set_viewport_size(PHONE)
    page.goto(url)
    page.on("dialog", lambda dialog: pytest.fail("a script ran"))
    ask(page, temperatures=temperature(1), labels={"name": name})
    expect(page.locator("#status")).to_have_text("Answered.")
    page.locator("#answer summary").last.click()
    expect(page.locator("#answer pre")).to_contain_text(name.replace("\u202e", r"\u202e")[:20])
    assert page.locator("#answer img, #answer script").count() == 0
    ask(page, temperatures=temperature(1), **{name: 1})
    expect(page.locator("#answer")).to_contain_text("Unknown field")
    assert "\u202e" not in page.inner_text("#answer")
    assert page.locator("#answer img, #answer script").count() == 0
    assert wide(page) == 0
    shot(f"welcome-{request.node.callspec.id}")


@pytest.mark.parametrize("language", OTHERS)
def test_the_landing_page_speaks_the_language_of_the_browser(browser, url, language):
    known = {one.id: one.string for one in of(language)}
    with browser.new_context(locale=language, viewport=PHONE) as context:
        page = context.new_page()
        page.goto(url)
        assert page.get_attribute("html", "lang") == language
        page.click("#run")
        expect(page.locator("#status")).to_have_text(known["Answered."])
        expect(page.locator(".figures thead")).to_contain_text(known["Gauge pressure"])
        ask(page, temperatures=temperature(-9))
        expect(page.locator(".refused")).to_have_text(known[TYPES["would-freeze"].title])
        assert wide(page) == 0
        page.screenshot(path=SHOTS / f"welcome-phone-{language}.png", full_page=True)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_landing_page_fits_a_phone(page, url, axe, shot, scheme):
    page.set_viewport_size(PHONE)
    page.emulate_media(color_scheme=scheme)
    page.goto(url)
    page.click("#run")
    expect(page.locator("#status")).to_have_text("Answered.")
    assert wide(page) == 0
    assert axe() == []
    shot(f"welcome-phone-{scheme}")


def test_the_landing_page_works_without_a_mouse(page, url):
    page.goto(url)
    page.focus("#request")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#status")).to_have_text("Answered.")


def test_every_link_leads_somewhere(page, url):
    page.goto(url)
    links = {link.get_attribute("href") for link in page.locator("a[href]").all()}
    assert {"/docs", "/guide", "/openapi.json", "/healthz"} <= links
    assert {operation.path for operation in OPERATIONS} <= set(page.locator("th a").all_inner_texts())
    assert {reference.path for reference in REFERENCES} <= links
    for link in links:
        assert page.request.get(f"{url}{link.partition('#')[0]}").status == 200, link


def test_with_keys_the_landing_page_says_where_one_goes(page, locked_url, axe, shot):
    page.goto(locked_url)
    assert axe() == []
    assert "Bearer $KEY" in page.inner_text("#curl")
    page.fill("#key", KEY)
    page.click("#run")
    expect(page.locator("#status")).to_have_text("Answered.")
    shot("welcome-locked")


# The guide


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_guide_is_readable_on_any_screen(page, url, axe, shot, scheme, size):
    page.set_viewport_size(size)
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{url}/guide")
    assert wide(page) == 0
    assert page.evaluate("[...document.querySelectorAll('pre')].filter(p => p.scrollWidth > p.clientWidth).length") == 0
    assert axe() == []
    shot(f"guide-{size['width']}-{scheme}")


def test_every_line_of_the_contents_leads_to_its_section(page, url):
    page.goto(f"{url}/guide")
    titles = [line.removeprefix("## ") for line in GUIDE.read_text().splitlines() if line.startswith("## ")]
    assert page.locator(".contents a").all_inner_texts() == titles
    for link in page.locator(".contents a").all():
        link.click()
        assert page.inner_text(":target") == link.inner_text()


def test_every_link_of_the_guide_leads_somewhere(page, url):
    page.goto(f"{url}/guide")
    links = {link.get_attribute("href") for link in page.locator("a[href]").all()}
    assert {"/", "/docs", "/openapi.json"} <= links
    for link in links:
        assert page.request.get(f"{url}/{link.partition('#')[0].lstrip('/')}").status == 200, link


# The API page


def operations_of(page: Page) -> set[str]:
    return {block.get_attribute("id").rpartition("-")[2] for block in page.locator(".opblock").all()}


def test_the_api_page_shows_every_operation(page, url, shot):
    document = page.request.get(f"{url}/openapi.json").json()
    named = {of["operationId"] for item in document["paths"].values() for of in item.values()}
    page.goto(f"{url}/docs")
    page.wait_for_selector(".opblock")
    assert operations_of(page) == named
    assert [link.get_attribute("href") for link in page.locator("nav a").all()] == ["/", "/guide"]
    assert {operation.operation_id for operation in OPERATIONS} <= named
    shot("docs")


def try_out(page: Page, tag: str, operation_id: str) -> None:
    """Runs the example of an operation, and holds it to be answered."""
    block = page.locator(f"#operations-{tag}-{operation_id}")
    block.locator(".opblock-summary-control").click()
    block.get_by_role("button", name="Try it out").click()
    block.get_by_role("button", name="Execute", exact=True).click()
    expect(block.locator(".live-responses-table .response-col_status").last).to_contain_text("200")
    block.locator(".opblock-summary-control").click()


def test_the_api_page_runs_every_example(page, url):
    page.goto(f"{url}/docs")
    for operation in OPERATIONS:
        try_out(page, operation.tag, operation.operation_id)


def test_the_api_page_opens_at_an_operation(page, url, shot):
    page.goto(f"{url}/docs#/carbonation/createSetPoints")
    block = page.locator("#operations-carbonation-createSetPoints")
    block.get_by_role("button", name="Try it out").click()
    shot("docs-operation")


ORDER = ("createBatch", "createAcidSolution", "createChillPlan", "createCharges", "createRegasForecast",
         "createDraughtLine", "createPrepSheet", "createServicePlan", "createRollout", "listAcids")  # fmt: skip
"""One operation of each part of the job, in the order in which a bar does it; common practice, no source."""


def test_the_api_page_has_the_operations_in_the_order_of_the_job(page, url):
    page.goto(f"{url}/docs")
    page.wait_for_selector(".opblock")
    shown = [block.get_attribute("id").rpartition("-")[2] for block in page.locator(".opblock").all()]
    assert [name for name in shown if name in ORDER] == list(ORDER)


@pytest.mark.parametrize("tag, name", [("prep", "createPrepSheet"), ("evening", "createServicePlan"),
                                       ("carbonation", "createSetPoints"), ("batching", "createBatch")])  # fmt: skip
def test_an_operation_fits_two_screens_and_its_problems_one_line(page, url, tag, name, shot):
    page.set_viewport_size(DESK)
    page.goto(f"{url}/docs#/{tag}/{name}")
    block = page.locator(f"#operations-{tag}-{name}")
    rows = block.locator(".responses-table tr.response")
    expect(rows).to_have_count(1)
    assert block.bounding_box()["height"] <= 2 * DESK["height"]
    shot(f"docs-{name}")
    block.get_by_role("button", name="Show the problems: 400, 401").click()
    assert {"200", "400", "422", "503"} <= {row.get_attribute("data-code") for row in rows.all()}


def test_the_api_page_takes_a_key(page, locked_url):
    page.goto(f"{locked_url}/docs")
    page.locator(".btn.authorize").click()
    page.locator(".auth-container input").fill(KEY)
    page.locator(".auth-btn-wrapper .authorize").click()
    page.locator(".auth-btn-wrapper .btn-done").click()
    try_out(page, "references", REFERENCES[0].operation_id)

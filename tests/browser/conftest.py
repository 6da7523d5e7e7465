"""A headless Chromium of the system, the service as it is deployed, and what no page may do."""

import shutil
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.running import ROOT, running

SHOTS = ROOT / ".screenshots"
"""Where every picture goes, to be looked at; not committed."""
AXE = ROOT / "tests/clients/node_modules/axe-core/axe.min.js"
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage", "--no-proxy-server", "--font-render-hinting=none"]
OURS = ("http://127.0.0.1:", "data:")
REFUSED = "Failed to load resource: the server responded with a status of 4"
"""What Chromium says of every refusal; that of a POST may be what the test asks for, that of a GET is a fault."""
KEY = "a key that only these pages are shown, long enough"


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = shutil.which("chromium")
    assert path is not None, "these tests need the system's chromium; make browser-test installs it"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def url() -> Iterator[str]:
    """The address of the service without keys."""
    with running() as url:
        yield url


@pytest.fixture(scope="session")
def locked_url() -> Iterator[str]:
    """The address of the service that asks for KEY."""
    with running(AUTH="", API_KEY_HASHES=sha256(KEY.encode()).hexdigest()) as url:
        yield url


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page that fails its test for anything on the console, any violation of its policy and any foreign request."""
    with browser.new_context(viewport={"width": 1100, "height": 900}, locale="en-GB") as context:
        page = context.new_page()
        page.add_init_script(
            "document.addEventListener('securitypolicyviolation',"
            " e => console.error('policy: ' + e.violatedDirective + ' ' + e.blockedURI))"
        )
        faults: list[str] = []
        _watch(page, faults)
        yield page
        assert faults == []


def _watch(page: Page, faults: list[str]) -> None:
    def note(text: str, *, if_: bool = True) -> None:
        if if_:
            faults.append(text)

    page.on("console", lambda m: note(m.text, if_=m.type in ("error", "warning") and REFUSED not in m.text))
    page.on("pageerror", lambda error: note(str(error)))
    page.on("request", lambda r: note(r.url, if_=not r.url.startswith(OURS)))
    page.on("response", lambda r: note(r.url, if_=r.request.method == "GET" and not r.ok))


@pytest.fixture
def show(page: Page) -> Callable[..., Page]:
    """Shows HTML that a POST answered, with the policy that came with it."""

    def shown(address: str, body: Any, **headers: str) -> Page:
        answer = page.request.post(address, data=body, headers={"Accept": "text/html", **headers})
        assert answer.ok, answer.text()
        page.route(address, lambda route: route.fulfill(response=answer))
        page.goto(address)
        return page

    return shown


@pytest.fixture
def shot(page: Page) -> Callable[[str], Path]:
    """Takes a picture of the whole page under a name."""

    def taken(name: str) -> Path:
        SHOTS.mkdir(exist_ok=True)
        path = SHOTS / f"{name}.png"
        page.screenshot(path=path, full_page=True)
        return path

    return taken


@pytest.fixture
def axe(page: Page) -> Callable[[], list[str]]:
    """Return the faults that axe-core finds in the page as it stands: rule and element."""

    def found() -> list[str]:
        page.evaluate(AXE.read_text(encoding="utf-8"))
        result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        return [f"{rule['id']}: {node['html'][:200]}" for rule in result["violations"] for node in rule["nodes"]]

    return found

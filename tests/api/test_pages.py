"""The landing page, the API page, the guide and the document as they are sent; tests/browser looks at them."""

import json
import re

import pytest
from markupsafe import escape

from service.api import guide
from service.api.app import OPERATIONS
from service.api.openapi.paths import FOLDER
from tests.words.catalogues import OTHERS, of

PAGES = ("/", "/docs", "/guide", "/openapi.json")


@pytest.mark.parametrize("path", PAGES)
def test_a_copy_at_hand_is_confirmed_without_a_body(client, path):
    first = client.get(path)
    tag = first.headers["ETag"]
    assert re.fullmatch(r'"[0-9a-f]{64}"', tag)  # strong, RFC 9110 section 8.8.3
    again = client.get(path, headers={"If-None-Match": f"W/{tag}"})  # as a proxy that compresses sends it back
    assert (again.status_code, again.get_data(), again.headers["ETag"]) == (304, b"", tag)
    assert client.get(path, headers={"If-None-Match": '"other"'}).get_data() == first.get_data()
    assert client.get(path, headers={"If-Match": '"other"'}).status_code == 412


def test_the_guide_runs_no_script(client):
    response = client.get("/guide")
    policy = dict(part.strip().partition(" ")[::2] for part in response.headers["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert not {"script-src", "connect-src"} & policy.keys()
    assert "<script" not in response.get_data(as_text=True)


def test_the_guide_is_whole(client):
    text = client.get("/guide").get_data(as_text=True)
    source = (FOLDER / "GUIDE.md").read_text(encoding="utf-8")
    assert text.count("<figure>") == source.count("\n```") / 2
    assert text.count("<h2 id=") == source.count("\n## ")


@pytest.fixture
def written(tmp_path, monkeypatch):
    """Reads a guide of this text."""

    def read(text):
        (tmp_path / "GUIDE.md").write_text(text, encoding="utf-8")
        monkeypatch.setattr("service.api.guide.FOLDER", tmp_path)
        return guide.read()

    return read


def test_markup_in_the_guide_is_shown_as_text(written):
    body = written(
        "# T\n\n## A & b\n\n<img src=x onerror=alert(1)> [x](javascript:alert(1))\n\n```sh\n</pre>\n```\n"
    ).body
    assert not re.search(r"<img|<script|href|</pre>\s*</pre>", body)
    assert "&lt;img" in body
    assert "&lt;/pre&gt;" in body


def test_headings_lead_to_anchors(written):
    read = written("# Title\n\n## A till: in, out\n\ntext\n\n### Within /v1\n")
    assert read.title == "Title"
    assert [(one.title, one.anchor) for one in read.sections] == [
        ("A till: in, out", "a-till-in-out"),
        ("Within /v1", "within-v1"),
    ]
    assert 'id="within-v1"' in read.body


def words_of(page):
    """The sentences that the script of the landing page says."""
    return json.loads(page.split('id="words">')[1].split("</script>")[0])


@pytest.mark.parametrize("language", OTHERS)
def test_the_landing_page_is_in_the_language_asked_for(client, language):
    english = client.get("/")
    other = client.get("/", headers={"Accept-Language": language})
    assert other.headers["Content-Language"] == language
    assert other.headers["ETag"] != english.headers["ETag"]
    text = other.get_data(as_text=True)
    assert f'<html lang="{language}">' in text
    known = {one.id: one.string for one in of(language)}
    assert [one.path for one in OPERATIONS if str(escape(known[one.summary])) not in text] == []
    assert words_of(text) == {name: known[said] for name, said in words_of(english.get_data(as_text=True)).items()}

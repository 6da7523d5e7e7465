"""A prep sheet as pages, ticket and table: how each is asked for, and that nothing a caller writes acts in it."""

import copy
import csv
import re
from base64 import b64encode
from decimal import Decimal
from hashlib import sha256
from html.parser import HTMLParser
from io import StringIO
from itertools import product
from math import isfinite
from typing import Any

import pytest
from wcwidth import width

from service.api.openapi import example
from service.api.pages.sheet import ends
from service.api.pages.ticket import ticket
from service.api.pages.words import ascii_only, duration_text, mass_text
from tests.api.conforms import conforms

PATH = "/v1/prep-sheets"
MEDIA_TYPES = {"json": "application/json", "html": "text/html", "text": "text/plain", "csv": "text/csv"}
HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7 * 7 }}{% raw %}",
    "</style><style>*{display:none}</style>",
    '=HYPERLINK("http://example.com")',
    "-2+3",
    "@SUM(A1)",
    "Sour\u202e05.1\u202c",
    "שלום 100%",
    "🍸" * 100,
    "W" * 200,
    'a,"b",c;d',
    "\ufffe\u2028next",
]


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createPrepSheet"))


@pytest.fixture
def hostile(body, request) -> dict[str, Any]:
    """The words of the parameter wherever a caller may write some."""
    return _worded(body, request.param)


def _worded(body: dict[str, Any], words: str) -> dict[str, Any]:
    body["spec"]["name"] = words
    for number, component in enumerate(body["spec"]["components"]):
        component["name"] = f"{words[:199]}{number}"
    body["spec"]["serve"] = dict.fromkeys(body["spec"]["serve"], words)
    body["lot"] = words[:64]
    body["labels"] = {"note": words}
    del body["prices"]
    return body


def ask(client, body, form="html", **query):
    response = client.post(PATH, json=body, query_string={"format": form, **query})
    assert response.status_code == 200, response.get_data(as_text=True)
    return response


class Page(HTMLParser):
    """Elements and attributes of a page, and its text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


# Negotiation, RFC 9110 section 12


@pytest.mark.parametrize("form, media_type", MEDIA_TYPES.items())
def test_each_form_is_asked_for_by_accept_or_by_format(client, body, form, media_type):
    by_accept = client.post(PATH, json=body, headers={"Accept": media_type})
    by_format = client.post(PATH, json=body, query_string={"format": form}, headers={"Accept": "image/png"})
    assert by_accept.mimetype == by_format.mimetype == media_type
    assert by_accept.get_data() == by_format.get_data()
    assert by_accept.headers["Vary"] == "Accept, Accept-Language"
    assert by_accept.headers["Cache-Control"] == "no-store"
    assert by_accept.headers["Content-Language"] == "en"


@pytest.mark.parametrize(
    "accept, media_type",
    [
        ("*/*", "application/json"),
        ("text/*", "text/html"),
        ("text/html;q=0.4, text/csv;q=0.6", "text/csv"),
        ("text/html, application/json", "application/json"),
        ("text/html, application/json;q=0.9", "text/html"),
        ("text/plain; charset=utf-8", "text/plain"),
        ("application/json;q=0, */*;q=0.1", "text/html"),
    ],
)
def test_the_best_quality_wins_and_ties_go_to_the_first(client, body, accept, media_type):
    assert client.post(PATH, json=body, headers={"Accept": accept}).mimetype == media_type


@pytest.mark.parametrize("accept", ["image/png", "text/html;q=0", "application/xml, image/svg+xml"])
def test_a_form_that_does_not_exist_is_406(client, body, accept):
    response = client.post(PATH, json=body, headers={"Accept": accept})
    assert (response.status_code, response.mimetype) == (406, "application/problem+json")


@pytest.mark.parametrize("form", ["svg", "ndjson", "pdf", ""])
def test_a_format_that_does_not_exist_is_406(client, body, form):
    assert client.post(PATH, json=body, query_string={"format": form}).status_code == 406


@pytest.mark.parametrize("form", ["json", "html", "csv"])
@pytest.mark.parametrize("query", [{"columns": "48"}, {"charset": "ascii"}])
def test_what_only_text_has_is_refused_without_it(client, body, form, query):
    response = client.post(PATH, json=body, query_string={"format": form, **query})
    (error,) = response.get_json()["errors"]
    assert (error["in"], error["pointer"], error["code"]) == ("query", f"/{next(iter(query))}", "needs-text")


@pytest.mark.parametrize("charset", ["latin-1", "ASCII", "", "utf8"])
def test_another_charset_is_refused(client, body, charset):
    response = client.post(PATH, json=body, query_string={"format": "text", "charset": charset})
    assert response.get_json()["errors"][0]["code"] == "not-a-choice"


@pytest.mark.parametrize("form", MEDIA_TYPES)
def test_a_refusal_is_a_problem_in_every_form(client, body, form):
    response = client.post(PATH, json={**body, "fill": 0.95}, query_string={"format": form})
    assert (response.status_code, response.mimetype) == (422, "application/problem+json")


def test_the_document_names_each_form(client):
    document = client.get("/openapi.json").get_json()
    answered = document["paths"][PATH]["post"]["responses"]["200"]
    assert set(answered["content"]) == set(MEDIA_TYPES.values())
    assert {"Vary", "Cache-Control", "Content-Language", "Content-Security-Policy"} <= set(answered["headers"])


# What callers write stays words


@pytest.fixture(scope="module")
def tags(client) -> list[str]:
    """Elements of the page of a drink whose names are plain words."""
    plain = _worded(copy.deepcopy(example("createPrepSheet")), "words")
    return [tag for tag, _ in Page(ask(client, plain).get_data(as_text=True)).elements]


@pytest.mark.parametrize("hostile", HOSTILE, indirect=True)
def test_a_page_has_the_same_elements_whatever_a_caller_writes(client, tags, hostile):
    assert [tag for tag, _ in Page(ask(client, hostile).get_data(as_text=True)).elements] == tags


@pytest.mark.parametrize("hostile", HOSTILE, indirect=True)
def test_a_ticket_keeps_its_width_whatever_a_caller_writes(client, hostile):
    found = ask(client, hostile, "json").get_json()
    for columns, charset in product((32, 42, 48, 80), ("utf-8", "ascii")):
        text = ticket(found, {"columns": str(columns), "charset": charset})
        assert max(width(line) for line in text.split("\n")) <= columns
        assert charset != "ascii" or text.isascii()
        assert not set(text) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\r\x1b")


@pytest.mark.parametrize("hostile", HOSTILE, indirect=True)
def test_a_table_has_its_nine_columns_and_no_formula_whatever_a_caller_writes(client, hostile):
    text = ask(client, hostile, "csv").get_data(as_text=True)
    found = list(csv.reader(StringIO(text, newline=""), strict=True))
    assert {len(row) for row in found} == {9}
    for row in found[1:]:
        for cell in (*row[:3], *row[7:]):
            assert not cell.lstrip().startswith(("=", "+", "-", "@")), cell
        assert all(cell == "" or isfinite(float(cell)) for cell in row[3:7])


@pytest.mark.parametrize("hostile", HOSTILE, indirect=True)
def test_json_has_the_words_as_they_came(client, hostile):
    found = ask(client, hostile, "json").get_json()
    assert found["label"]["name"] == hostile["spec"]["name"]
    conforms("createPrepSheet", found)


# The pages


@pytest.fixture
def page(client, body) -> Page:
    return Page(ask(client, body).get_data(as_text=True))


def test_the_policy_lets_nothing_in_but_the_style_of_the_page(client, body):
    """Content Security Policy Level 3, section 6.7: the hash of an inline style."""
    response = ask(client, body)
    policy = dict(part.strip().partition(" ")[::2] for part in response.headers["Content-Security-Policy"].split(";"))
    text = response.get_data(as_text=True)
    style = text.partition("<style>")[2].partition("</style>")[0]
    assert policy["default-src"] == "'none'"
    assert policy["style-src"] == f"'sha256-{b64encode(sha256(style.encode()).digest()).decode()}'"
    assert {"script-src", "img-src", "connect-src"}.isdisjoint(policy)


def test_the_page_has_no_script_no_inline_style_and_nothing_from_elsewhere(page):
    tags = {tag for tag, _ in page.elements}
    assert tags.isdisjoint({"script", "iframe", "object", "embed", "img", "link", "form", "base", "foreignobject"})
    for _, attributes in page.elements:
        assert "style" not in attributes
        assert not any(name.startswith("on") for name in attributes)
        assert all((attributes.get(name) or "#").startswith("#") for name in ("href", "src", "xlink:href"))


def test_ids_are_unique(page):
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))


def read(value: dict[str, Any]) -> str:
    """A value as a page reads: a kilogram and more in kilograms, which are a thousand grams (SI), with each digit; in
    grams what is put on a scale, which shows grams."""
    if value["code"] in ("component", "scale-takes"):
        return value["text"]
    grams = Decimal(value["text"].removesuffix(" g")) if value.get("unit") == "g" else Decimal(0)
    return f"{(grams / 1000).normalize():f} kg" if grams >= 1000 else value["text"]


def test_the_bench_shows_every_value_and_a_box_for_every_step(client, body, page):
    found = ask(client, body, "json").get_json()
    done = [step for step in found["steps"] if step["station"] != "manager"]
    boxes = [attributes["id"] for tag, attributes in page.elements if attributes.get("type") == "checkbox"]
    assert boxes == [f"step-{step['number']}" for step in done]
    for value in (value for step in done for value in step["values"]):
        assert read(value) in page.text
    never = [value["text"] for step in done for value in step["values"] if value["name"] == "never over"]
    assert page.text.count(f"never over {never[0]}") == 2  # at the head and at the regulator


def test_the_manager_gets_what_to_buy_cost_bands_assumptions_and_records(client, body, page):
    found = ask(client, body, "json").get_json()
    for words in ("48.05 EUR", "1.5016 EUR", "70.90 EUR"):
        assert words in page.text
    for record in found["records"]:
        assert record["point"] in page.text
        assert record["action"] in page.text
    for assumption in found["assumptions"]:
        assert " ".join(assumption["name"].split()) in page.text
    headers = [attributes for tag, attributes in page.elements if tag == "th"]
    assert headers
    assert all(attributes.get("scope") in ("row", "col") for attributes in headers)


def test_the_ends_of_a_band_have_as_many_decimals_as_each_other():
    """1.8 to 2.0, not to 2; pours stay whole."""
    assert ends({"low": 1.8, "typical": 1.9, "high": 2.0}) == ["1.8", "1.9", "2.0"]
    assert ends({"low": 0.0, "typical": 4.0, "high": 4.0}) == ["0", "4", "4"]
    assert ends({"low": 90.0, "typical": 1440.0, "high": 2000.0}) == ["90", "1440", "2000"]


def test_there_is_a_label_for_every_vessel(client, body):
    text = ask(client, body).get_data(as_text=True)
    assert text.count('<p class="name">') == ask(client, body, "json").get_json()["fill"]["count"]
    body |= {"size": {"serves": 400}}
    body["carbonation"]["target"] = {"value": 6, "unit": "g/l"}
    assert ask(client, body).get_data(as_text=True).count('<p class="name">') == 24


@pytest.mark.parametrize("change", ["shift", "made_at", "lot", "prices", "site", "chill", "rounding", "fill"])
def test_a_page_does_without_what_is_not_said(client, body, change):
    del body[change]
    assert ask(client, body).mimetype == "text/html"


def test_us_pages_have_us_units(client, body):
    text = Page(ask(client, {**body, "units": "us"}).get_data(as_text=True)).text
    assert " psi" in text
    assert not re.search(r"[0-9] (bar|ml|°C|g/l)\b", text.partition("Manager")[0])


# The ticket


@pytest.mark.parametrize(
    "text, unit, expected",
    [
        ("7300.0 g", "g", "7.3 kg"),
        ("1777.6 g", "g", "1.7776 kg"),
        ("1000.0 g", "g", "1 kg"),
        ("12050.5 g", "g", "12.0505 kg"),
        ("999.9 g", "g", "999.9 g"),
        ("7.300,5 g", "g", "7,3005 kg"),
        ("12,050.0 g", "g", "12.05 kg"),
        ("1200 ml", "ml", "1200 ml"),
        ("1200.0 g", "", "1200.0 g"),
    ],
)
def test_a_kilogram_and_more_is_told_in_kilograms(text, unit, expected):
    """A kilogram is a thousand grams (SI Brochure, 9th edition, section 3); what a caller wrote, without a unit of
    ours, stays."""
    assert mass_text(text, unit) == expected


def test_the_ticket_tells_the_cautions_of_tonight_before_the_rules_of_every_night(client, body):
    found = ask(client, body, "json").get_json()
    said = " ".join(ask(client, body, "text").get_data(as_text=True).split())
    serious = [c["text"] for c in found["cautions"] if c["severity"] != "info"]
    assert len(serious) > 0
    shorts = [rule["short"] for rule in client.get("/v1/references/safety-rules").get_json()["items"]]
    assert max(said.index(f"!! {text}") for text in serious) < said.index("; ".join(shorts))
    assert said.index("; ".join(shorts)) < said.index("BENCH")


@pytest.mark.parametrize(
    "words, expected",
    [
        ("1.0 °C", "1.0 degC"),
        ("Crème de pêche", "Creme de peche"),
        ("5′ − 3″", "5' - 3\""),
        ("Straße, Œuf, Łódź", "Strasse, OEuf, Lodz"),
        ("ﬁne ½ …", "fine 1/2 ..."),
        ("香檸檬", "???"),
        ("Å\u202e🍸", "A?"),
    ],
)
def test_ascii_spells_what_it_can(words, expected):
    """Unicode Standard Annex 15, compatibility decomposition; signs spelt as is common practice, no source."""
    assert ascii_only(words) == expected


@pytest.mark.parametrize(
    "seconds, down, up",
    [(0.9, "0 s", "1 s"), (59.9, "59 s", "1 min"), (74.9, "1 min 14 s", "1 min 15 s"), (1316.8, "21 min", "22 min"),
     (7199.0, "1 h 59 min", "2 h 00 min"), (43200.0, "12 h 00 min", "12 h 00 min"), (172801.0, "2 d 0 h", "2 d 1 h")],
)  # fmt: skip
def test_a_timer_is_told_downwards_and_a_total_upwards(seconds, down, up):
    assert (duration_text(seconds), duration_text(seconds, up=True)) == (down, up)


def test_the_ticket_has_steps_timers_and_the_latest_start(client, body):
    found = ask(client, body, "json").get_json()
    lines = ask(client, body, "text", columns=42).get_data(as_text=True).splitlines()
    assert f"start by {found['latest_start'][:16].replace('T', ' ')}" in [" ".join(line.split()) for line in lines]
    timers = [told.groups() for line in lines if (told := re.fullmatch(r" +(timer|timer, each) {2,}(\S.*)", line))]
    timed = [s["timer"] for s in found["steps"] if s["station"] != "manager" and "timer" in s]
    wanted = [("timer, each" if timer["times"] > 1 else "timer", duration_text(timer["each_s"])) for timer in timed]
    assert timers == wanted
    assert sum(line.startswith("[ ]") for line in lines) == sum(s["station"] != "manager" for s in found["steps"])


def test_a_name_from_the_right_keeps_to_itself(client, body):
    """Unicode Standard Annex 9, section 2.4: isolates; the figure beside the name stays where it is."""
    body["spec"]["components"][0]["name"] = "ג'ין"
    body["prices"] = body["prices"][1:]
    (line,) = (
        line
        for line in ask(client, body, "text").get_data(as_text=True).splitlines()
        if "ג'ין" in line and line.endswith(" g")
    )
    assert line.startswith("\u200e")
    assert "\u2068ג'ין\u2069" in line


# The table


def rows(client, body) -> list[dict[str, str]]:
    text = ask(client, body, "csv").get_data(as_text=True)
    return list(csv.DictReader(StringIO(text, newline=""), strict=True))


def test_the_table_is_rfc_4180(client, body):
    response = ask(client, body, "csv")
    data = response.get_data()
    assert response.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert data.endswith(b"\r\n")
    assert data.count(b"\n") == data.count(b"\r\n")
    assert not data.startswith(b"\xef\xbb\xbf")


def figures(node: Any) -> list[float]:
    if isinstance(node, dict):
        if "currency" in node:
            return [float(node["amount"])]
        return [x for inner in node.values() for x in figures(inner)]
    if isinstance(node, list):
        return [x for inner in node for x in figures(inner)]
    return [float(node)] if isinstance(node, int | float) and not isinstance(node, bool) else []


def test_the_table_has_every_figure_of_the_answer_unrounded(client, body):
    found = ask(client, body, "json").get_json()
    told = [float(r[c]) for r in rows(client, body) for c in ("value", "low", "typical", "high") if r[c]]
    assert sorted(told) == sorted(figures(found))


def test_the_dial_is_found_by_section_item_and_quantity(client, body):
    found = ask(client, body, "json").get_json()
    (row,) = (
        r for r in rows(client, body)
        if (r["section"], r["quantity"]) == ("steps", "values dial") and r["item"] == str(_set(found)["number"])
    )  # fmt: skip
    assert row["unit"] == "bar"
    assert float(row["value"]) == found["carbonation"]["charges"]["gauge_pressure"]["value"]


def _set(found: dict[str, Any]) -> dict[str, Any]:
    (one,) = (step for step in found["steps"] if step["code"] == "set-regulator")
    return one


def test_a_negative_number_stays_a_number(client, body):
    (row,) = (r for r in rows(client, body) if (r["section"], r["quantity"]) == ("chilling", "lowest_safe"))
    assert float(row["value"]) < 0
    assert not row["value"].startswith("'")

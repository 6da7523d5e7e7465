"""A prep sheet as pages, ticket and table: how each is asked for, and that nothing a caller writes acts in it."""

import copy
import csv
import json
import re
from base64 import b64encode
from decimal import Decimal
from hashlib import sha256
from html import unescape
from html.parser import HTMLParser
from io import StringIO
from itertools import product
from math import isfinite
from typing import Any

import numpy as np
import pytest
import zxingcpp
from babel import Locale
from wcwidth import width

from service.api.answers import Answer
from service.api.openapi import example
from service.api.openapi.paths import examples
from service.api.pages.labels import drawn
from service.api.pages.manager import ends
from service.api.pages.names import ALLERGENS, COLD_PLACES
from service.api.pages.paper import Paper, Shown
from service.api.pages.table import cell
from service.api.pages.ticket import rules_for
from service.api.pages.words import ascii_only
from service.api.speech import Speech
from service.drink.allergens import EU_GROUPS
from service.money import Money
from service.safety_rules import SAFETY_RULES
from service.science.band import Band
from service.science.mixture import ENVIRONMENTS
from service.science.units import Quantity
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


@pytest.mark.parametrize("query", ["columns=48", "charset=ascii"])
def test_where_no_form_is_text_a_parameter_of_text_is_unknown(client, query):
    response = client.post("/v1/regas/states", json=example("createRegasState"), query_string=query)
    assert [error["code"] for error in response.get_json()["errors"]] == ["unknown-parameter"]


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
    for columns, charset in product((32, 42, 80), ("utf-8", "ascii")):
        text = ask(client, hostile, "text", columns=columns, charset=charset).get_data(as_text=True)
        assert max(width(line) for line in text.split("\n")) <= columns
        assert charset != "ascii" or text.isascii()
        assert not set(text) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\r\x1b")


@pytest.mark.parametrize("hostile", HOSTILE, indirect=True)
def test_a_table_has_its_nine_columns_and_no_formula_whatever_a_caller_writes(client, hostile):
    text = ask(client, hostile, "csv").get_data(as_text=True)
    found = list(csv.reader(StringIO(text, newline=""), strict=True))
    assert {len(row) for row in found} == {9}
    for row in found[1:]:
        for text in (*row[:3], *row[7:]):
            assert not text.lstrip().startswith(("=", "+", "-", "@")), text
        assert all(number == "" or isfinite(float(number)) for number in row[3:7])


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


def test_the_bench_shows_the_figures_of_its_steps_and_a_box_for_each(client, body, page):
    found = ask(client, body, "json").get_json()
    done = [step for step in found["steps"] if step["station"] != "manager" and step["code"] != "rest"]
    boxes = [attributes["id"] for tag, attributes in page.elements if attributes.get("type") == "checkbox"]
    assert [box for box in boxes if box.startswith("step-")] == [f"step-{step['number']}" for step in done]
    weighed = [value for step in done for value in step["values"] if value["code"] == "component"]
    for value in weighed:
        assert value["text"].removesuffix(" g") in page.text
    ticked = [box for box in boxes if box.startswith("tick-")]
    assert len(ticked) == len(weighed) - 1  # what is weighed in two jugs is one line


def test_the_dial_is_set_in_words_and_the_limit_stands_beside_it_once(client, body, page):
    found = ask(client, body, "json").get_json()
    shown = {value["code"]: value["text"] for value in _set(found)["values"]}
    assert f"Set {shown['dial']}" in page.text
    assert page.text.count(f"Never over {shown['never-over']}") == 1


def test_rounds_of_charging_are_one_line(client, body, page):
    found = ask(client, body, "json").get_json()
    assert sum(step["code"] == "charge" for step in found["steps"]) == 3
    assert page.text.count("3 rounds: connect, shake 30 s, disconnect. Back into the ice.") == 1
    body["carbonation"] |= {"charge_count": 1, "agitation": "rocked"}
    body["carbonation"]["target"] = {"value": 5, "unit": "g/l"}
    assert "Once: connect, rock" in Page(ask(client, body).get_data(as_text=True)).text


def test_the_rules_of_the_night_stand_once_and_before_the_work(client, body, page):
    text = unescape(ask(client, body).get_data(as_text=True))
    (box,) = re.findall(r'<ul class="rules">(.*?)</ul>', text, re.DOTALL)
    assert re.findall("<li>(.*?)</li>", box) == [rule.short for rule in SAFETY_RULES]
    for rule in SAFETY_RULES:
        assert page.text.index(rule.short) < page.text.index("Make the Citric-malic solution")


def test_a_caution_is_read_at_its_step_before_the_action(client, body, page):
    """H319 and H335 of citric acid: Regulation (EU) 2021/849, as service/science/data/acid_forms.csv has it."""
    for statement in ("H319", "H335"):
        assert page.text.count(statement) == 1
        assert page.text.index(statement) < page.text.index("Make the Citric-malic solution")
    body["made_at"] = "2026-11-28T17:00:00+01:00"  # too late for the shift: no step is about that
    text = Page(ask(client, body).get_data(as_text=True)).text
    assert text.index("Before you start") < text.index("the first serve may be late") < text.index("Goggles on")


def test_no_key_of_a_table_stands_on_paper(client, body, page):
    text = page.text.partition("further assumptions")[0] + ask(client, body, "text").get_data(as_text=True)
    for key in ("pet-1-l", "citric-monohydrate", "CO2 ", " x ", "common-practice", "ice-water"):
        assert key not in text, key
    for words in ("8 × 1 l PET bottle", "citric acid monohydrate", "CO₂", "\u22123.3"):
        assert words in page.text.replace("\xa0", " "), words


def test_what_has_a_key_has_a_name():
    assert set(COLD_PLACES) == set(ENVIRONMENTS)
    assert set(ALLERGENS) == set(EU_GROUPS)


def test_the_gauge_is_checked_by_a_table_of_temperatures(client, body, page):
    found = ask(client, body, "json").get_json()
    (step,) = (step for step in found["steps"] if step["code"] == "gauge-at-rest")
    shown = [value["text"].split()[0] for value in step["values"]]
    at = [param["text"] for value in step["values"][::2] for param in value["params"]]
    rows = [f"{where} {about} {most}" for where, about, most in zip(at, shown[::2], shown[1::2], strict=True)]
    assert len(rows) >= 3
    for row in rows:
        assert row in page.text.replace("\xa0", " ")


def test_the_manager_gets_what_to_buy_cost_and_records(client, body, page):
    """Money to the cent: ISO 4217, minor unit of the euro."""
    found = ask(client, body, "json").get_json()
    text = page.text.replace("\xa0", " ")
    for words in ("48.05 EUR", "1.50 EUR", "70.90 EUR", "3 × 70 cl", "2 × 50 cl", "660 ml", "58.50 EUR"):
        assert words in text, words
    assert "1.5016" not in text
    for record in found["records"]:
        assert record["point"] in text
        assert record["limit"] in text
        assert record["action"] in text
    headers = [attributes for tag, attributes in page.elements if tag == "th"]
    assert headers
    assert all(attributes.get("scope") in ("row", "col") for attributes in headers)


def test_the_manager_reads_what_was_left_open_and_finds_the_rest_behind_a_line(client, body, page):
    found = ask(client, body, "json").get_json()
    seen, _, rest = page.text.partition("further assumptions")
    for assumption in found["assumptions"]:
        assert assumption["text"].split(":")[0].replace("CO2", "CO₂") in seen + rest, assumption["code"]
    open_ones = seen.partition("Assumed, because the request left it open")[2]
    for words in ("Charge limit, gauge: 3.50 bar.", "Shake: 30 s."):
        assert words in open_ones.replace("\xa0", " ")
    for code in ("energy", "depletion"):
        assert next(a["text"] for a in found["assumptions"] if a["code"] == code)[:20] in rest


def test_the_ends_of_a_band_have_as_many_decimals_as_each_other():
    """1.8 to 2.0, not to 2; pours stay whole."""
    assert ends(Band(1.8, 1.9, 2.0)) == ("1.8", "1.9", "2.0")
    assert ends(Band(0.0, 4.0, 4.0)) == ("0", "4", "4")
    assert ends(Band(90.0, 1440.0, 2000.0)) == ("90", "1440", "2000")


def test_there_is_a_label_for_every_vessel(client, body):
    text = ask(client, body).get_data(as_text=True)
    assert text.count('<svg class="code"') == ask(client, body, "json").get_json()["fill"]["count"]
    body |= {"size": {"serves": 400}}
    body["carbonation"]["target"] = {"value": 6, "unit": "g/l"}
    assert ask(client, body).get_data(as_text=True).count('<svg class="code"') == 24


def test_a_label_says_pressure_cold_opening_use_by_and_allergens(client, body, page):
    label = page.text.partition("Cut along the dashes.")[2].replace("\xa0", " ")
    care = ("Under CO₂ pressure", "Keep upright and cold, at most 5.0 °C", "Open slowly, away from faces")
    lines = ("use by 2026-12-12 14:00", "allergens none declared", "lot QL-2811-A", "In-house, not for sale.")
    for words in care + lines:
        assert words in label
    body["spec"]["components"][0]["allergens"] = ["sulphites", "barley"]
    del body["spec"]["components"][1]["allergens"]
    label = Page(ask(client, body).get_data(as_text=True)).text
    assert "cereals containing gluten, sulphur dioxide and sulphites; not all stated, see the makers' labels" in label


def modules(svg: str) -> Any:
    """The picture of a code: eight pixels a module, 255 for light."""
    size = int(re.search(r'viewBox="0 0 (\d+) \d+"', svg)[1])
    image = np.full((size, size), 255, dtype=np.uint8)
    x = y = 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", re.search(r' d="([^"]+)"', svg)[1]):
        by = [float(number) for number in numbers.split()]
        if command == "h":
            image[int(y), int(x) : int(x + by[0])] = 0
        x, y = (by[0], by[1]) if command == "M" else (x + by[0], y + (by[1] if command == "m" else 0.0))
    return np.kron(image, np.ones((8, 8), dtype=np.uint8))


def test_the_code_of_a_label_is_read_back(client, body):
    """ISO/IEC 18004, by a reader that this project did not write: zxing-cpp."""
    found = ask(client, body, "json").get_json()
    svg = ask(client, body).get_data(as_text=True).partition('<symbol id="lot-code">')[2].partition("</symbol>")[0]
    (code,) = zxingcpp.read_barcodes(modules(svg))
    assert code.format == zxingcpp.BarcodeFormat.QRCode
    label = found["batch"]["label"]
    told = {"lot": body["lot"], "made": label["made_at"], "discard": label["use_by"], "spec_id": found["spec_id"]}
    assert json.loads(code.text) == told


def test_the_code_of_any_lot_is_read_back():
    for lot in ("香檸檬" * 21, "ג'ין", "Ω" * 64, "x"):
        holds = json.dumps({"lot": lot, "spec_id": "sha256:" + 64 * "f"}, ensure_ascii=False).encode()
        (code,) = zxingcpp.read_barcodes(modules(str(drawn(holds))))
        assert json.loads(code.bytes) == json.loads(holds)


@pytest.mark.parametrize("change", ["shift", "made_at", "lot", "prices", "site", "chill", "rounding", "fill"])
def test_a_page_does_without_what_is_not_said(client, body, change):
    del body[change]
    assert ask(client, body).mimetype == "text/html"


def test_us_pages_have_us_units(client, body):
    text = Page(ask(client, {**body, "units": "us"}).get_data(as_text=True)).text
    assert " psi" in text
    assert not re.search(r"[0-9] (bar|ml|°C|g/l)\b", text.partition("Manager")[0])


# The ticket


def show(kind: Any, value: float, units: Any = "metric", locale: str | None = None, **manner: Any) -> str:
    speech = Speech(None if locale is None else Locale.parse(locale, sep="-"))
    how = {name: manner.pop(name) for name in ("weighed",) if name in manner}
    return str(Paper(Answer(units, speech)).figure(Quantity(kind, value, **manner), **how)).replace("\xa0", " ")


@pytest.mark.parametrize(
    "grams, expected",
    [(7300.0, "7.3 kg"), (1777.6, "1.7776 kg"), (1000.0, "1 kg"), (12050.5, "12.0505 kg"), (999.9, "999.9 g")],
)
def test_a_kilogram_and_more_is_told_in_kilograms(grams, expected):
    """A kilogram is a thousand grams (SI Brochure, 9th edition, section 3); a scale shows grams."""
    assert show("mass", grams) == expected
    assert show("mass", grams, weighed=True) == f"{grams:.1f} g"


@pytest.mark.parametrize(
    "ounces, shown, expected",
    [(507.21, "nearest", "3 gal 123 oz"), (384.0, "nearest", "3 gal"), (127.99, "nearest", "127.99 oz"),
     (255.6, "nearest", "2 gal"), (507.21, "up", "3 gal 124 oz"), (507.9, "down", "3 gal 123 oz")],
)  # fmt: skip
def test_a_gallon_and_more_is_told_in_gallons(ounces, shown, expected):
    """128 US fluid ounces to the gallon, 29.5735295625 ml each: NIST Handbook 44, appendix C."""
    assert show("volume", ounces * 29.5735295625, "us", shown=shown) == expected


@pytest.mark.parametrize(
    "kind, value, locale, expected",
    [("temperature", -1.9, None, "\u22121.9 °C"), ("temperature", -1.9, "de", "\u22121,9 °C"),
     ("mass", 1234.5, "de", "1,2345 kg"), ("volume", 18927.0, None, "18.927 l"), ("volume", 740.0, None, "740 ml")],
)  # fmt: skip
def test_figures_are_in_the_manner_of_the_place_and_a_minus_is_a_minus(kind, value, locale, expected):
    """Decimal signs: Unicode CLDR, by babel."""
    assert show(kind, value, locale=locale) == expected


@pytest.mark.parametrize(
    "amount, currency, locale, expected",
    [("1.5016", "EUR", None, "1.50 EUR"), ("1.505", "EUR", None, "1.50 EUR"), ("1.515", "EUR", None, "1.52 EUR"),
     ("123.4", "JPY", None, "123 JPY"), ("1.23456", "KWD", None, "1.235 KWD"), ("1234.5", "EUR", "de", "1.234,50 €"),
     ("1234.5", "USD", "en-US", "$1,234.50")],
)  # fmt: skip
def test_money_is_told_to_the_smallest_coin(amount, currency, locale, expected):
    """Minor units: ISO 4217:2015, list one; manner of the place: Unicode CLDR, by babel."""
    speech = Speech(None if locale is None else Locale.parse(locale, sep="-"))
    told = Paper(Answer("metric", speech)).money(Money(Decimal(amount), currency))
    assert told.replace("\xa0", " ") == expected


def test_a_unit_never_leaves_its_figure():
    assert str(Shown("1.63", "bar")) == "1.63\xa0bar"


@pytest.mark.parametrize("locale, lines", [(None, 60), ("en-GB", 60), ("fr-FR", 62), ("es-ES", 62), ("de-DE", 62)])
def test_an_ordinary_ticket_is_short(client, body, locale, lines):
    """Lines of forty-two columns: sixty are some twenty-five centimetres of receipt paper.

    Two more in longer languages, where fewer would cost the relief valve or the gas their names.
    """
    if locale is not None:
        body["site"]["locale"] = locale
    assert len(ask(client, body, "text", columns=42).get_data(as_text=True).splitlines()) <= lines


@pytest.mark.parametrize("named", ["demo", "draught"])
def test_a_ticket_is_made_of_sentences(client, named):
    body = examples("createPrepSheet")[named]["value"]
    text = ask(client, body, "text", columns=42).get_data(as_text=True)
    assert re.findall(r"[a-z]\. [a-z].*", " ".join(text.split())) == []


@pytest.mark.parametrize("locale", ["en-GB", "es-ES", "fr-FR", "de-DE"])
def test_a_figure_of_the_ticket_is_never_parted_from_its_unit(client, body, locale):
    body["site"]["locale"] = locale
    for columns in (32, 42, 48):
        text = ask(client, body, "text", columns=columns).get_data(as_text=True)
        assert re.findall(r"\d\n +(?:bar|°C|ml|l|kg|g|min|s|h|%vol)\b.*", text) == []


@pytest.mark.parametrize("locale", ["en-GB", "es-ES", "fr-FR", "de-DE"])
def test_moments_and_estimates_are_written_as_the_place_does(client, body, locale):
    body["site"]["locale"] = locale
    body["made_at"] = "2026-11-28T17:00:00+01:00"  # too late for the shift, of which a caution tells
    text = Page(ask(client, body).get_data(as_text=True)).text
    assert "late-for-shift" in {one["code"] for one in ask(client, body, "json").get_json()["cautions"]}
    assert not re.search(r"\d{4}-\d\d-\d\d|\d\d:\d\d:\d\d|CO2", text)
    assert ("1.85" if locale == "en-GB" else "1,85") in text  # pH of the solution


@pytest.mark.parametrize("locale", ["es-ES", "fr-FR", "de-DE", "en-US"])
def test_a_ticket_keeps_its_width_in_every_language(client, body, locale):
    body["site"]["locale"] = locale
    for columns, charset in product((32, 42), ("utf-8", "ascii")):
        text = ask(client, body, "text", columns=columns, charset=charset).get_data(as_text=True)
        assert max(width(line) for line in text.split("\n")) <= columns
        assert not set(text) & set("\xa0\u202f")


def test_the_ticket_tells_the_rules_that_kill_before_the_work(client, body):
    said = " ".join(ask(client, body, "text").get_data(as_text=True).split())
    for rule in rules_for("bottle"):
        assert said.index(rule.short) < said.index("BENCH")
    deadly = {rule.code for rule in SAFETY_RULES if rule.severity == "danger"}
    assert deadly - {"cold-room-fails"} < {rule.code for rule in rules_for("bottle")}
    assert deadly < {rule.code for rule in rules_for("keg")}


def test_the_ticket_tells_a_caution_before_its_step(client, body):
    body["spec"]["components"][2]["acid_solution"] = {"basis": "w/v", "acids": [{"acid": "tartaric", "percent": 4}]}
    found = ask(client, body, "json").get_json()
    (danger,) = (c["text"] for c in found["cautions"] if c["code"] == "handling-h318")
    said = " ".join(ask(client, body, "text").get_data(as_text=True).split())
    assert said.index("serious eye damage") < said.index("Make the Citric-malic solution")
    assert "serious eye damage" in danger


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
     (7199.0, "1 h 59 min", "2 h 00 min"), (43200.0, "12 h 00 min", "12 h 00 min"), (172801.0, "2 d", "2 d 1 h")],
)  # fmt: skip
def test_a_timer_is_told_downwards_and_a_total_upwards(seconds, down, up):
    assert (Paper.clock(seconds), Paper.clock(seconds, up=True)) == (down, up)


def test_the_ticket_has_a_box_for_each_step_its_timers_and_the_latest_start(client, body):
    found = ask(client, body, "json").get_json()
    text = ask(client, body, "text", columns=42).get_data(as_text=True)
    said = " ".join(text.split())
    assert f"start by {found['latest_start'][:16].replace('T', ' ')}" in said
    for step in found["steps"]:
        if step["station"] != "manager" and "timer" in step:
            assert Paper.clock(step["timer"]["each_s"]) in said
    boxes = sum(line.count("[ ]") for line in text.splitlines() if line.startswith("[ ]"))
    assert boxes == sum(s["station"] != "manager" for s in found["steps"])


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


@pytest.mark.parametrize("lead", ["", " ", "\xa0", "\ufeff", "\u200b", "\u2060\u00ad", " \u200b\xa0"])
@pytest.mark.parametrize("formula", ["=1+1", "+A1", "-2+3", "@SUM(A1)", "＝1", "\t=1"])
def test_no_cell_is_a_formula_whatever_stands_unseen_before_it(lead, formula):
    """OWASP, CSV injection: characters that begin a formula, and what is skipped before them."""
    assert cell(lead + formula) == "'" + lead + formula


@pytest.mark.parametrize("words", ["-1.9 °C", "-1,9 °C", "-3", "-0.50 bar"])
def test_a_number_below_nought_is_no_formula(words):
    assert cell(words) == "\u2212" + words[1:]


def test_a_negative_number_stays_a_number(client, body):
    (row,) = (r for r in rows(client, body) if (r["section"], r["quantity"]) == ("chilling", "lowest_safe"))
    assert float(row["value"]) < 0
    assert not row["value"].startswith("'")

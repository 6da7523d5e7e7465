"""Plots: what they show, that they are inert, that any page may hold them, and how they are asked for."""

import copy
import json
import re
import subprocess
import sys
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from service import carbonation
from service.api.openapi import example
from service.api.pages import plots
from service.carbonation import SetPointsAsked
from service.drink import Composition, DrinkGiven, Sugar, drink_of
from service.notes import Notes

SVG = "{http://www.w3.org/2000/svg}"
PATHS = {"createSetPoints": "/v1/carbonation/set-points", "createRegasForecast": "/v1/regas/forecasts"}


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createSetPoints"))


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - the service's own answer


def plot(client, body, operation="createSetPoints", query="?format=svg"):
    return client.post(PATHS[operation] + query, data=json.dumps(body), content_type="application/json")


def drawn(client, body, operation="createSetPoints") -> ET.Element:
    response = plot(client, body, operation)
    assert response.status_code == 200, response.get_json()
    return parsed(response.get_data(as_text=True))


def words(root: ET.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("operation", PATHS)
def test_a_page_without_inline_styles_may_hold_it(client, operation):
    """Content Security Policy level 3: style attributes and elements are inline styles, presentation attributes not."""
    root = drawn(client, example(operation), operation)
    allowed = {"svg", "title", "desc", "g", "path", "use", "text", "defs", "clipPath", "rect", "pattern"}
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= allowed
    names = {name for element in root.iter() for name in element.attrib}
    assert "style" not in names
    assert not [name for name in names if name.startswith(("on", "{"))]
    pointed = {value for element in root.iter() for name, value in element.attrib.items() if name == "href"}
    assert all(value.startswith("#") for value in pointed)
    assert root.get("viewBox")
    assert root.get("width") is None


@pytest.mark.parametrize("operation", PATHS)
def test_it_is_read_out(client, operation):
    """WAI-ARIA graphics: an image with a name and a description."""
    root = drawn(client, example(operation), operation)
    assert root.get("role") == "img"
    title, desc = (root.find(f"{SVG}{tag}") for tag in ("title", "desc"))
    assert [title.get("id"), desc.get("id")] == root.get("aria-labelledby").split()
    assert title.text
    assert len(desc.text) > 80


def test_two_plots_in_one_page_share_no_id(client):
    ids = []
    for operation in PATHS:
        root = drawn(client, example(operation), operation)
        own = [element.get("id") for element in root.iter() if element.get("id")]
        pointed = re.findall(r"url\(#([^)]+)\)|href=\"#([^\"]+)\"", ET.tostring(root, encoding="unicode"))
        assert {one or other for one, other in pointed} <= set(own)
        ids += own
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("operation", PATHS)
def test_the_same_request_draws_the_same(client, operation):
    assert plot(client, example(operation), operation).data == plot(client, example(operation), operation).data


@pytest.mark.parametrize("name", [
    "<script>alert(1)</script>", "a & b \"c\" 'd'", "$\\frac{1}{2}$ and $x^2$", "]]>--><!--", "=1+1",
    "\u202e backwards \u202c", "שלום", "🍹🍋", "\ufffe\uffff", "酸味のある飲み物", "x" * 200, "🍹" * 100,
])  # fmt: skip
def test_names_are_words_and_nothing_else(client, body, name):
    body["drink"] = {"spec": {"name": name, "components": [{"name": "a", "amount": {"value": 50, "unit": "ml"}}]}}
    root = drawn(client, body)
    kept = re.sub("[\ufffe\uffff]", "\ufffd", re.sub("[\u202a-\u202e]", "", name))
    assert root.find(f"{SVG}title").text.endswith(kept)
    (shown,) = [text for text in words(root) if text and (kept.startswith(text.rstrip("…")) or text == kept)]
    assert len(shown) <= 144


def test_it_shows_what_the_answer_says(client, body):
    answer = plot(client, body, query="").get_json()
    first = next(point for point in answer["points"] if point["status"] == "ok")
    band = first["gauge_pressure"]
    shown = f"{band['typical']:.2f} {band['unit']} ({band['low']:.2f} to {band['high']:.2f})"
    texts = words(drawn(client, body))
    assert any(shown in text for text in texts)
    assert {"gauge pressure, bar", "temperature of the drink, °C", "never over this"} <= set(texts)


BARE = {"drink": {"composition": {"abv": 9, "sugar": {"value": 70, "unit": "g/l"}}}}


@pytest.mark.parametrize("target", [0.5, 7, 15])
@pytest.mark.parametrize("temperatures", [[-1, 1], [1, 20], [10, 30, 40]])
def test_without_a_vessel_no_dial_is_the_highest(client, target, temperatures):
    """Nothing is judged then: no line stands for a limit, the words tell of none, and no coordinate is without end."""
    asked = {**BARE, "target": {"value": target, "unit": "g/l"},
             "temperatures": [{"value": t, "unit": "c"} for t in temperatures]}  # fmt: skip
    response = plot(client, asked)
    text = response.get_data(as_text=True)
    if response.status_code == 422:  # beyond the gas equations at every temperature
        assert {error["code"] for error in response.get_json()["errors"]} == {"beyond-equations"}
        return
    root = parsed(text)
    assert "never over this" not in words(root)
    assert not list(root.iter(f"{SVG}pattern"))  # a limit is hatched above
    assert "highest dial" not in root.find(f"{SVG}desc").text
    drawn_at = [value for element in root.iter() for name, value in element.attrib.items() if name in ("d", "x", "y")]
    assert not re.search("nan|inf", " ".join(drawn_at))


def test_with_a_vessel_the_limit_is_hatched(client, body):
    root = drawn(client, body)
    assert list(root.iter(f"{SVG}pattern"))
    assert "highest dial that passes" in root.find(f"{SVG}desc").text


def test_the_curve_without_a_vessel_is_smooth():
    """Each step of it is as long as its neighbours, to 2.5 %: no temperature is judged otherwise than the next."""
    drink = drink_of(DrinkGiven(composition=Composition(9.0, Sugar(70.0, "g/l"))), Notes())
    found = carbonation.set_points(drink, SetPointsAsked(target_g_per_l=5.0, temperatures_c=[1.0, 20.0]), Notes())
    curve = carbonation.set_point_curve(found)
    assert {one.never_over_bar for one in curve} == {None}
    dials = [one.gauge_pressure_bar.typical for one in curve]
    steps = [after - before for before, after in pairwise(dials)]
    assert all(after == pytest.approx(before, rel=0.025) for before, after in pairwise(steps))


def test_us_units_are_named(client, body):
    texts = set(words(drawn(client, {**body, "units": "us"})))
    assert {"gauge pressure, psi", "temperature of the drink, °F"} <= texts


def test_refused_points_are_marked(client, body):
    body["temperatures"] = [{"value": t, "unit": "c"} for t in (1, 30)]
    root = drawn(client, body)
    assert "refused" in words(root)
    assert "1 of the temperatures asked for are refused" in root.find(f"{SVG}desc").text


def test_the_curve_meets_the_points():
    """Straight between its neighbours the curve is at each point asked for, but for its bend: 0.1 %."""
    drink = drink_of(DrinkGiven(composition=Composition(9.0, Sugar(70.0, "g/l"))), Notes())
    found = carbonation.set_points(drink, SetPointsAsked(target_g_per_l=5.0, temperatures_c=[1.0, 4.0, 7.0]), Notes())
    curve = carbonation.set_point_curve(found)
    assert [one.temperature_c for one in curve] == sorted(one.temperature_c for one in curve)
    for point in found.points:
        after = next(i for i, one in enumerate(curve) if one.temperature_c > point.temperature_c)
        one, other = curve[after - 1], curve[after]
        share = (point.temperature_c - one.temperature_c) / (other.temperature_c - one.temperature_c)
        between = one.gauge_pressure_bar.typical + share * (
            other.gauge_pressure_bar.typical - one.gauge_pressure_bar.typical
        )
        assert between == pytest.approx(point.dial_bar_gauge.typical, rel=1e-3)
    assert all(
        one.gauge_pressure_bar.low < one.gauge_pressure_bar.typical < one.gauge_pressure_bar.high for one in curve
    )


def test_a_shift_is_drawn_with_floor_and_re_gas(client):
    body = copy.deepcopy(example("createRegasForecast"))
    answer = plot(client, body, "createRegasForecast", "").get_json()
    answer["pours"][1]["regassed"] = True
    texts = words(parsed(plots.regas(answer)))
    assert {"in the glass", "in the vessel", "re-gas", "minutes since the start"} <= set(texts)
    assert any(text.startswith("floor ") for text in texts)


def test_one_pour_is_drawn_too(client):
    answer = plot(client, example("createRegasForecast"), "createRegasForecast", "").get_json()
    answer["pours"] = answer["pours"][:1]
    assert "in the glass" in words(parsed(plots.regas(answer)))


@pytest.mark.parametrize("accept, media", [
    (None, "application/json"), ("*/*", "application/json"), ("image/svg+xml", "image/svg+xml"),
    ("image/*", "image/svg+xml"), ("application/json;q=0.5, image/svg+xml;q=0.9", "image/svg+xml"),
    ("application/json, image/svg+xml", "application/json"), ("image/svg+xml;q=0, */*", "application/json"),
])  # fmt: skip
def test_it_is_negotiated(client, body, accept, media):
    headers = {"Accept": accept} if accept else {}
    response = client.post(PATHS["createSetPoints"], data=json.dumps(body), content_type="application/json",
                           headers=headers)  # fmt: skip
    assert (response.status_code, response.mimetype, response.headers["Vary"]) == (
        200,
        media,
        "Accept, Accept-Language",
    )


def test_other_forms_are_not_acceptable(client, body):
    response = plot(client, body, query="?format=html")
    assert (response.status_code, response.mimetype) == (406, "application/problem+json")
    refused = plot(client, {**body, "target": {"value": 14, "unit": "g/l"}})
    assert (refused.status_code, refused.mimetype) == (422, "application/problem+json")


@pytest.mark.parametrize("path", PATHS.values())
def test_the_document_names_the_form(client, path):
    item = client.get("/openapi.json").get_json()["paths"][path]["post"]
    assert set(item["responses"]["200"]["content"]) == {"application/json", "image/svg+xml"}
    (form,) = (p for p in item["parameters"] if p["name"] == "format")
    assert form["schema"]["enum"] == ["json", "svg"]


def test_the_service_starts_without_the_drawing_library():
    """It takes longer to load than the rest of the service; a service that draws nothing never does."""
    starts = "import sys; from service.api.app import create_app; create_app({'AUTH': 'open'})"
    code = f"{starts}; sys.exit('matplotlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

"""Plots: what they show, that they are inert, that any page may hold them, and how they are asked for."""

import copy
import json
import re
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from service import carbonation
from service.api.answers import Answer
from service.api.openapi import example
from service.api.pages import plots
from service.api.pages.chart import round_steps
from service.api.pages.paper import Paper
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
    return [" ".join(element.itertext()) for element in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("operation", PATHS)
def test_a_page_without_inline_styles_may_hold_it(client, operation):
    """Content Security Policy level 3: style attributes and elements are inline styles, presentation attributes not."""
    root = drawn(client, example(operation), operation)
    allowed = {"svg", "title", "desc", "g", "path", "circle", "text", "tspan", "defs", "rect", "pattern"}
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
    texts = [text.replace("\xa0", " ") for text in words(drawn(client, body))]
    assert any(shown in text for text in texts)
    assert {"dial, bar", "temperature of the drink, °C", "never over this"} <= set(texts)


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


def scale(root: ET.Element, axis: str) -> tuple[float, float]:
    """Return what a plot's ticks say: the value at 0 px and the change by px, by numpy."""
    (ticks,) = (group for group in root.iter(f"{SVG}g") if group.get("class") == "plot-soft")
    anchor, off = {"x": ("middle", 0.0), "y": ("end", 4.0)}[axis]
    found = [(float(each.get(axis)) - off, float(each.text.replace("−", "-")))
             for each in ticks if each.get("text-anchor") == anchor]  # fmt: skip
    slope, start = np.polyfit(*zip(*found, strict=True), 1)
    return start, slope


def test_it_can_be_read_off_the_axes(client, body):
    """To 0.2 px: half a px of each rounded place, and of the ticks'."""
    answer = plot(client, body, query="").get_json()
    root = drawn(client, body)
    rings = [each for each in root.iter(f"{SVG}circle") if each.get("r") == "4.0"]
    told = [(point["temperature"]["value"], point["gauge_pressure"]["typical"]) for point in answer["points"]]
    for axis, wanted in zip("xy", zip(*told, strict=True), strict=True):
        start, by_px = scale(root, axis)
        read = [start + by_px * float(each.get(f"c{axis}")) for each in rings][-len(told) :]
        assert read == pytest.approx(list(wanted), abs=0.2 * abs(by_px))


@pytest.mark.parametrize("low, high, most", [
    (0.0, 1.0, 6), (-3.0, 9.0, 5), (1.03, 2.91, 6), (0.0, 32.0, 4), (14.2, 14.3, 6), (0.0, 1e-3, 3), (250.0, 9000.0, 8),
])  # fmt: skip
def test_ticks_are_round(low, high, most):
    """Steps of 1, 2 or 5 by a power of ten, as few as asked and no fewer than the next finer would pass."""
    at, decimals = round_steps(low, high, most)
    steps = {round(after - before, 9) for before, after in pairwise(at)}
    assert len(steps) == 1
    digits = f"{steps.pop():e}".partition("e")[0].rstrip("0.")
    assert digits in ("1", "2", "5")
    assert most / 2.5 - 2 <= len(at) - 1 <= most
    assert all(low - 1e-9 <= each <= high + 1e-9 and each == round(each, decimals) for each in at)


def test_us_units_are_named(client, body):
    texts = set(words(drawn(client, {**body, "units": "us"})))
    assert {"dial, psi", "temperature of the drink, °F"} <= texts


def test_refused_points_are_marked(client, body):
    body["temperatures"] = [{"value": t, "unit": "c"} for t in (1, 30)]
    root = drawn(client, body)
    assert "refused" in words(root)
    assert "1 of the temperatures asked for is refused" in root.find(f"{SVG}desc").text


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
    texts = words(parsed(plots.regas(answer, Paper(Answer("metric")))))
    assert {"in the glass", "in the vessel", "re-gas", "time", "9 times in 10 within"} <= set(texts)
    assert any(text.startswith("floor ") for text in texts)


def test_a_shift_without_a_start_is_drawn_in_minutes(client):
    body = example("createRegasForecast")
    del body["shift"]["starts_at"]
    assert "minutes since the start" in words(drawn(client, body, "createRegasForecast"))


def test_the_hours_of_a_shift_stand_under_it(client):
    body = copy.deepcopy(example("createRegasForecast"))
    assert body["shift"]["starts_at"].startswith("2026-11-28T18:00:00")
    assert "20:00" in words(drawn(client, body, "createRegasForecast"))


def test_one_pour_is_drawn_too(client):
    answer = plot(client, example("createRegasForecast"), "createRegasForecast", "").get_json()
    answer["pours"] = answer["pours"][:1]
    assert "in the glass" in words(parsed(plots.regas(answer, Paper(Answer("metric")))))


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

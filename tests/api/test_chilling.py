"""POST /v1/chilling over the wire."""

import copy
import json
from typing import Any

import pytest

from service.api.openapi import example
from service.science.units import to_base
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, put

PATH = "/v1/chilling"


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createChillPlan"))


def post(client, body):
    return client.post(PATH, data=json.dumps(body), content_type="application/json")


def test_the_example_is_what_the_document_promises(client, body):
    conforms("createChillPlan", post(client, body).get_json())


def test_silence_is_filled_and_said(client, body):
    answer = post(client, {"drink": body["drink"]}).get_json()
    conforms("createChillPlan", answer)
    pointers = {pointer for a in answer["assumptions"] for pointer in a["pointers"]}
    assert {"/vessel", "/fill", "/start_temperature", "/goal_temperature", "/environment", "/vessel_count",
            "/chill_in"} <= pointers  # fmt: skip
    fridge = post(client, {"drink": body["drink"], "environment": "fridge",
                           "goal_temperature": {"value": 5, "unit": "c"}}).get_json()  # fmt: skip
    assert "/cooling_power_w" in {pointer for a in fridge["assumptions"] for pointer in a["pointers"]}


def test_us_units_say_the_same(client, body):
    """Tolerance 1e-9: twelve digits on the wire."""
    metric, us = post(client, body).get_json(), post(client, {**body, "units": "us"}).get_json()
    for name, kind in (("time", "duration"), ("freezing_point", "temperature"), ("warming", "duration")):
        for end in ("low", "typical", "high"):
            assert to_base(kind, us[name][end], us[name]["unit"]) == pytest.approx(
                to_base(kind, metric[name][end], metric[name]["unit"]), rel=1e-9
            )
    assert us["lowest_safe"]["unit"] == "f"


@pytest.mark.parametrize(
    "changes, slug",
    [
        ({"goal_temperature": {"value": -8, "unit": "c"}, "environment": "salted-ice"}, "would-freeze"),
        ({"goal_temperature": {"value": 34, "unit": "f"}, "environment": "fridge"}, "unreachable"),
        ({"charged": True, "environment": "still-freezer"}, "charged-in-freezer"),
        (
            {"charged": True, "environment": "fridge", "environment_temperature": {"value": -6, "unit": "c"}},
            "charged-in-freezer",
        ),
        ({"ice": {"value": 1, "unit": "kg"}}, "unreachable"),
        ({"ice": {"value": 1, "unit": "lb"}, "units": "us"}, "unreachable"),
        ({"charged": True, "chill_in": "jug"}, "vessel-refused"),
        (
            {
                "charged": True,
                "fill": 0.97,
                "environment": "salted-ice",
                "goal_temperature": {"value": -9, "unit": "c"},
            },
            "refused",
        ),
    ],
)
def test_what_is_offered_works(client, body, changes, slug):
    body.pop("measured")
    asked = {**body, **changes}
    problem = post(client, asked).get_json()
    assert problem["type"] == f"/problems/{slug}", problem
    assert post(client, apply_nearest(asked, problem)).status_code == 200


@pytest.mark.parametrize(
    "changes, pointer",
    [
        (
            {"charged": True, "vessel": {"material": "glass", "capacity": {"value": 75, "unit": "cl"}}},
            "/vessel/material",
        ),
        ({"vessel": {"material": "glass"}}, "/vessel"),
    ],
)
def test_a_vessel_that_is_not_so_is_refused_without_an_offer(client, body, changes, pointer):
    """Only the bar knows its vessel."""
    body.pop("measured")
    problem = post(client, {**body, **changes}).get_json()
    assert problem["type"] == "/problems/vessel-refused"
    assert [e["pointer"] for e in problem["errors"]] == [pointer]
    assert "nearest" not in problem


def test_an_impossible_reading_is_named(client, body):
    put(body, "/measured/temperature", {"value": 25, "unit": "c"})
    response = post(client, body)
    assert response.status_code == 422
    assert [e["pointer"] for e in response.get_json()["errors"]] == ["/measured/temperature"]


@pytest.mark.parametrize(
    "pointer, value, code",
    [
        ("/nonsense", 1, "unknown-field"),
        ("/measured/nonsense", 1, "unknown-field"),
        ("/start_temperature/unit", "x", "unit"),
        ("/start_temperature", None, "null"),
        ("/start_temperature/value", "20", "not-a-number"),
        ("/measured/after/value", -5, "out-of-range"),
        ("/fill", 0, "out-of-range"),
        ("/charged", "yes", "not-a-boolean"),
        ("/environment", "glacier", "not-a-choice"),
        ("/vessel_count", 0, "out-of-range"),
        ("/vessel_count", 1.5, "not-an-integer"),
        ("/cooling_power_w", 0, "out-of-range"),
        ("/chill_in", "bucket", "not-a-choice"),
        ("/ice", None, "null"),
        ("/drink", {}, "exactly-one"),
    ],
)
def test_bad_input_is_named(client, body, pointer, value, code):
    put(body, pointer, value)
    response = post(client, body)
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)


def test_an_infinite_number_is_not_json(client, body):
    put(body, "/start_temperature/value", float("inf"))
    assert post(client, body).status_code == 400


def test_the_drink_is_required(client):
    (error,) = post(client, {}).get_json()["errors"]
    assert (error["pointer"], error["code"]) == ("/drink", "required")


def test_ice_is_of_ice_and_power_of_every_place(client, body):
    body.pop("measured")
    warm = {**body, "goal_temperature": {"value": 5, "unit": "c"}}
    for place in ("still-freezer", "fan-freezer", "fridge", "walk-in", "ice-water", "stirred-ice-water", "salted-ice"):
        answer = post(client, {**warm, "environment": place}).get_json()
        conforms("createChillPlan", answer)
        assert answer["heat_kj"]["low"] < answer["heat_kj"]["typical"] < answer["heat_kj"]["high"]
        assert answer["power_needed_w"]["low"] > 0.0
        assert ("ice_needed" in answer) == ("ice_to_fetch" in answer) == place.endswith(("ice-water", "salted-ice"))


def test_too_little_ice_is_said_with_its_numbers(client, body):
    problem = post(client, {**body, "ice": {"value": 1, "unit": "kg"}}).get_json()
    assert [e["pointer"] for e in problem["errors"]] == ["/ice"]
    assert {"ice", "ice_needed", "ice_to_fetch", "reached"} <= {fact["name"] for fact in problem["facts"]}


def test_a_fridge_brings_a_drink_as_cold_as_it_can_where_no_goal_is_stated(client):
    """The usual degree is a default of ours, so it refuses nobody; the sheet charges at what the fridge reaches."""
    drink = {"composition": {"abv": 9, "sugar": {"value": 70, "unit": "g/l"}}}
    alone = client.post("/v1/chilling", json={"drink": drink, "environment": "fridge"}).json
    assert alone["environment_temperature"]["value"] < alone["goal_temperature"]["value"] <= 4.0
    spec = {"name": "Long drink", "components": [
        {"name": "Gin", "amount": {"value": 45, "unit": "ml"}, "abv": 40},
        {"name": "Water", "amount": {"value": 120, "unit": "ml"}, "reference": "water"},
    ]}  # fmt: skip
    body = {"spec": spec, "size": {"serves": 20}, "vessel": {"preset": "pet-1-l"}, "chill": {"environment": "fridge"}}
    sheet = client.post("/v1/prep-sheets", json=body).json
    reached = sheet["chilling"]["goal_temperature"]
    at = [point["temperature"] for point in sheet["carbonation"]["set_points"]["points"]]
    assert reached == alone["goal_temperature"]
    assert reached in at
    stated = client.post("/v1/prep-sheets", json=body | {"carbonation": {"temperature": reached}}).json
    assert stated["carbonation"]["charges"]["gauge_pressure"] == sheet["carbonation"]["charges"]["gauge_pressure"]

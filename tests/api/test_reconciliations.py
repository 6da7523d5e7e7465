"""POST /v1/reconciliations: the contract of the wire, a planted loss found, and what is refused by its pointer."""

import copy
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.api.openapi import example
from tests.api.conforms import conforms

PATH = "/v1/reconciliations"


@pytest.fixture
def body() -> Any:
    return copy.deepcopy(example("createReconciliation"))


def answered(client: Any, body: Any) -> Any:
    response = client.post(PATH, json=body)
    assert response.status_code == 200, response.get_json()
    conforms("createReconciliation", response.get_json())
    return response.get_json()


def refused(client: Any, body: Any) -> list[tuple[str, str]]:
    response = client.post(PATH, json=body)
    assert response.status_code == 422, response.get_json()
    return [(error["pointer"], error["code"]) for error in response.get_json()["errors"]]


def ml(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "ml"}


def stock(value: float) -> dict[str, Any]:
    return {"volume": ml(value)}


def test_the_example_says_where_it_went(client, body):
    """By hand: 6 x 800 + 19,200 - 97 x 185 - 400 = 5,655 ml expected."""
    highball, spritz = answered(client, body)["drinks"]
    assert highball["expected"] == ml(5655.0)
    assert (highball["verdict"], spritz["verdict"]) == ("short", "within")
    variance = highball["counted"]["typical"] - 5655.0
    assert highball["variance"]["typical"] == pytest.approx(variance)
    assert highball["explaining_serve"]["typical"] == pytest.approx(185.0 - variance / 97.0)
    assert highball["variance_serves"]["typical"] == pytest.approx(variance / 185.0)
    assert highball["percent"]["typical"] == pytest.approx(100.0 * variance / (97 * 185.0))


def test_the_sum_closes_on_the_wire(client, body):
    one = body["drinks"][0] | {"returned": ml(150.0)}
    found = answered(client, body | {"drinks": [one], "components": [], "prices": []})
    (drink,) = found["drinks"]
    came = drink["opening"]["value"] + drink["made"]["value"] + 150.0
    went = drink["sold"]["value"] + 400.0 + drink["counted"]["typical"] - drink["variance"]["typical"]
    assert came == pytest.approx(went, rel=1e-12)
    assert "total" not in found
    assert "money" not in drink


def test_us_units_say_the_same(client, body):
    metric, us = answered(client, body), answered(client, body | {"units": "us"})
    placed = answered(client, body | {"site": {"units": "us", "locale": "en-US"}})
    assert us["drinks"] == placed["drinks"]
    for one, other in zip(metric["drinks"], us["drinks"], strict=True):
        assert other["variance"]["unit"] == "oz"
        assert one["variance"]["typical"] == pytest.approx(29.5735295625 * other["variance"]["typical"])
        assert one["money"] == other["money"]


@pytest.mark.parametrize("quantity, code", [
    ({}, "exactly-one"),
    ({"volume": ml(1), "vessels": [{"vessel": {"preset": "pet-1-l"}, "count": 1}]}, "exactly-one"),
    ({"volume": ml(-1)}, "out-of-range"),
    ({"vessels": []}, "length"),
    ({"weighed": {"gross": {"value": 1, "unit": "kg"}}}, "required"),
    ({"volume": {"value": 1, "unit": "kg"}}, "unit"),
])  # fmt: skip
def test_stock_is_stated_in_one_way(client, body, quantity, code):
    body["drinks"][0]["closing"] = quantity
    ((pointer, told),) = refused(client, body)
    assert (pointer.startswith("/drinks/0/closing"), told) == (True, code)


@pytest.mark.parametrize("change, pointer, code", [
    ({"to": "2026-11-13T16:00:00Z"}, "/to", "ends-before-it-begins"),
    ({"to": "2026-11-13"}, "/to", "not-a-moment"),
    ({"from": None}, "/from", "null"),
    ({"drinks": []}, "/drinks", "length"),
    ({"prices": [{"component": "Gin", "content": ml(700), "price": {"amount": "9", "currency": "EUR"}},
                 {"component": "Verbena cordial", "content": ml(700), "price": {"amount": "9", "currency": "USD"}}]},
     "/prices/1/price/currency", "two-currencies"),
])  # fmt: skip
def test_a_wrong_record_is_named_by_its_pointer(client, body, change, pointer, code):
    assert (pointer, code) in refused(client, body | change)


def test_a_gross_below_the_tare_is_told_with_both(client, body):
    """A kilogram against 2.5 pounds: the units of each are its own."""
    body["drinks"][0]["closing"] = {
        "weighed": {"gross": {"value": 1, "unit": "kg"}, "tare": {"value": 2.5, "unit": "lb"}}
    }
    problem = client.post(PATH, json=body).get_json()
    (error,) = problem["errors"]
    assert (error["pointer"], error["code"]) == ("/drinks/0/closing/weighed/gross", "gross-below-tare")
    assert "nearest" not in problem  # what the scale showed is no offer of ours
    assert {one["name"]: round(one["value"]) for one in error["params"]} == {"gross": 1000, "tare": 1134}


def test_ids_stand_once(client, body):
    body["drinks"][1]["id"] = body["drinks"][0]["id"]
    assert refused(client, body) == [("/drinks/1/id", "duplicate")]


def test_too_many_lines_are_refused(client, body):
    body["drinks"] = [body["drinks"][0] | {"id": f"d{i}"} for i in range(100)]
    spec = body["drinks"][0]["spec"]
    wide = spec | {"components": [{"name": f"c{i}", "amount": ml(10), "abv": 1} for i in range(40)]}
    body |= {"drinks": [one | {"spec": wide} for one in body["drinks"]], "components": [], "prices": []}
    assert refused(client, body) == [("/drinks", "too-many-lines")]


def test_every_fault_comes_in_one_problem(client, body):
    body |= {"to": body["from"], "components": [body["components"][0] | {"name": "Rum"}]}
    body["drinks"][0]["closing"]["weighed"]["gross"]["value"] = 1
    assert refused(client, body) == [
        ("/to", "ends-before-it-begins"),
        ("/components/0/name", "unknown-component"),
        ("/drinks/0/closing/weighed/gross", "gross-below-tare"),
    ]


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    sold=st.integers(1, 300), heavy=st.integers(0, 60), spilt=st.integers(0, 2000), opening=st.integers(0, 9000),
    gross=st.booleans(),
)  # fmt: skip
def test_a_loss_is_found_whatever_the_night(client, sold, heavy, spilt, opening, gross):
    """A bar with a jug that is too big by so much, told by volume or by weight: the serve it poured is named."""
    spec = {"name": "Water", "components": [{"name": "Water", "amount": ml(100), "reference": "water"}]}
    left = 500.0
    made = sold * (180.0 + heavy) + spilt + left - opening
    if made < 0:
        return
    closing = {"weighed": {"gross": {"value": 998.2, "unit": "g"},
                           "tare": {"value": 499.1, "unit": "g"}}} if gross else stock(left)  # fmt: skip
    drink = {"id": "w", "spec": spec, "serve": ml(180), "opening": stock(opening), "made": stock(made),
             "closing": closing, "sold_serves": sold, "wasted": ml(spilt), "measuring_percent": 0.1}  # fmt: skip
    night = {"from": "2026-11-13T17:00:00Z", "to": "2026-11-14T02:00:00Z", "drinks": [drink]}
    (found,) = answered(client, night)["drinks"]
    # the scale reads half a litre of water of 0.9982 g/ml as such to a millilitre
    assert found["explaining_serve"]["typical"] == pytest.approx(180.0 + heavy, abs=1.0 / sold + 1e-6)
    assert (found["verdict"] == "within") == (found["variance"]["low"] <= 0.0 <= found["variance"]["high"])

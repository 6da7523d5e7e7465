"""POST /v1/carbonation/gas-supply over the wire."""

import copy
import json
from typing import Any

import pytest

from service.api.openapi import example
from service.science.units import to_base
from tests.api.conforms import conforms
from tests.api.nearest import offers, put

PATH = "/v1/carbonation/gas-supply"


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createGasSupply"))


def post(client, body):
    return client.post(PATH, data=json.dumps(body), content_type="application/json")


def test_the_example_is_what_the_document_promises(client, body):
    answer = post(client, body).get_json()
    conforms("createGasSupply", answer)
    assert len(answer["batches"]) == len(body["batches"])
    assert answer["swap"]["gross"]["value"] == pytest.approx(8100 + answer["co2_per_batch"]["high"])


def test_silence_is_filled_and_said(client, body):
    answer = post(client, {"batches": [{"drink": body["batches"][0]["drink"], "volume": {"value": 1, "unit": "l"}}],
                           "cylinder": {"content": {"value": 2, "unit": "kg"}}}).get_json()  # fmt: skip
    conforms("createGasSupply", answer)
    assert "room" not in answer
    assert "gross" not in answer["swap"]
    pointers = {pointer for a in answer["assumptions"] for pointer in a["pointers"]}
    assert {"/temperature", "/site/altitude", "/batches/0/vessel", "/batches/0/fill", "/batches/0/target",
            "/batches/0/temperature", "/batches/0/air"} <= pointers  # fmt: skip


def test_us_units_say_the_same(client, body):
    """Tolerance 1e-9: twelve digits on the wire."""
    metric, us = post(client, body).get_json(), post(client, {**body, "units": "us"}).get_json()
    for end in ("low", "typical", "high"):
        assert us["co2_per_batch"][end] == pytest.approx(metric["co2_per_batch"][end], rel=1e-9)
    for one, other in zip((us, *us["batches"]), (metric, *metric["batches"]), strict=True):
        name = "cylinder_gauge_pressure" if "room" in one else "gauge_pressure"
        assert one[name]["unit"] == "psi"
        assert to_base("pressure", one[name]["value"], "psi") == pytest.approx(other[name]["value"], rel=1e-9)


def test_a_hot_cylinder_has_no_pressure_to_show(client, body):
    answer = post(client, {**body, "temperature": {"value": 95, "unit": "f"}}).get_json()
    conforms("createGasSupply", answer)
    assert "cylinder_gauge_pressure" not in answer
    assert "cylinder-too-hot" in {c["code"] for c in answer["cautions"]}


@pytest.mark.parametrize("pointer, value, slug", [
    ("/batches/1/target", {"value": 12, "unit": "g/l"}, "over-vessel-limit"),
    ("/batches/1/fill", 0.97, "no-headspace"),
    ("/batches/0/temperature", {"value": 45, "unit": "c"}, "too-warm"),
    ("/batches/1/temperature", {"value": -4, "unit": "c"}, "would-freeze"),
    ("/batches/1/air/pressure", {"value": 5, "unit": "bar"}, "over-vessel-limit"),
])  # fmt: skip
def test_what_is_offered_works(client, body, pointer, value, slug):
    put(body, pointer, value)
    problem = post(client, body).get_json()
    assert problem["type"] == f"/problems/{slug}", problem
    assert {near["pointer"] for near in problem["nearest"]} >= {pointer}
    assert [post(client, mended).status_code for mended in offers(body, problem)] == [200]


@pytest.mark.parametrize("pointer, value", [
    ("/batches/0/target", {"value": 15, "unit": "g/l"}), ("/batches/0/temperature", {"value": 14, "unit": "c"}),
    ("/batches/0/fill", 0.7),
])  # fmt: skip
def test_no_vessel_is_judged_where_none_is_named(client, body, pointer, value):
    """It is asked how much gas a drink takes; no dial comes out, and none is refused."""
    assert "vessel" not in body["batches"][0]
    put(body, pointer, value)
    response = post(client, body)
    assert response.status_code == 200, response.get_json()
    conforms("createGasSupply", response.get_json())


def test_a_vessel_that_is_named_is_judged_and_none_is_offered(client, body):
    put(body, "/batches/0/vessel", {"material": "glass", "capacity": {"value": 75, "unit": "cl"}})
    problem = post(client, body).get_json()
    assert problem["type"] == "/problems/vessel-refused"
    assert "nearest" not in problem


def test_a_cylinder_lighter_than_empty_is_named(client, body):
    put(body, "/cylinder/weighed/gross/value", 8.0)
    response = post(client, body)
    assert response.status_code == 422
    assert [e["pointer"] for e in response.get_json()["errors"]] == ["/cylinder/weighed/gross"]


@pytest.mark.parametrize("pointer, value, code", [
    ("/nonsense", 1, "unknown-field"),
    ("/batches", [], "length"),
    ("/batches/0/drink", {}, "exactly-one"),
    ("/batches/1/volume/unit", "m3", "unit"),
    ("/batches/1/volume/value", 0, "out-of-range"),
    ("/cylinder", {}, "exactly-one"),
    ("/cylinder/weighed/tare", None, "null"),
    ("/room_volume/value", -1, "out-of-range"),
    ("/temperature/value", 61, "out-of-range"),
])  # fmt: skip
def test_bad_input_is_named(client, body, pointer, value, code):
    put(body, pointer, value)
    response = post(client, body)
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)


def test_a_cylinder_is_stated_or_weighed_not_both(client, body):
    put(body, "/cylinder/content", {"value": 2, "unit": "kg"})
    (error,) = post(client, body).get_json()["errors"]
    assert (error["pointer"], error["code"]) == ("/cylinder", "exactly-one")


def test_fifty_one_batches_are_too_many(client, body):
    (error,) = post(client, {**body, "batches": body["batches"][:1] * 51}).get_json()["errors"]
    assert (error["pointer"], error["code"]) == ("/batches", "length")


@pytest.mark.parametrize("value", [1e-12, 1e-7, 1.0])
def test_hardly_anything_still_takes_a_vessel(client, body, value):
    put(body, "/batches/0/volume", {"value": value, "unit": "ml"})
    response = post(client, body)
    assert response.status_code == 200, response.get_json()
    assert response.get_json()["batches"][0]["vessels"] == 1


def test_components_of_all_batches_are_bounded(client, body):
    """Fifty of thirty; what one is made of counts."""
    component = {"amount": {"value": 5, "unit": "ml"}, "abv": 10}
    spec = {"name": "Thirty, invented", "components": [{**component, "name": f"{i}"} for i in range(30)]}
    batch = {"drink": {"spec": spec}, "volume": {"value": 5, "unit": "l"}, "target": {"value": 5, "unit": "g/l"}}
    assert post(client, {**body, "batches": [batch] * 50}).status_code == 200
    inner = {"name": "inner, invented", "components": [{**component, "name": "x"}]}
    made = {"name": "0", "amount": component["amount"], "made_from": inner}
    longer = {**batch, "drink": {"spec": {**spec, "components": [made, *spec["components"][1:]]}}}
    (error,) = post(client, {**body, "batches": [batch] * 49 + [longer]}).get_json()["errors"]
    assert (error["pointer"], error["code"]) == ("/batches", "too-many-lines")


def test_batches_and_cylinder_are_required(client):
    errors = post(client, {}).get_json()["errors"]
    assert {(e["pointer"], e["code"]) for e in errors} == {("/batches", "required"), ("/cylinder", "required")}

"""What a till sends to POST /v1/regas/states, over the wire: keys, sales, and faults of shape and of sense."""

import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from service.api.openapi.paths import FOLDER
from tests.api.conforms import conforms
from tests.api.nearest import offers, put

PATH = "/v1/regas/states"
Body = dict[str, Any]


@pytest.fixture
def body() -> Body:
    text = (FOLDER / "examples" / "create-regas-state--till.json").read_text(encoding="utf-8")
    return dict(json.loads(text))


def answered(client: FlaskClient, body: Body) -> Body:
    response = client.post(PATH, json=body)
    answer = response.get_json()
    assert response.status_code == 200, answer
    conforms("createRegasState", answer)
    return dict(answer)


def faults(client: FlaskClient, body: Body) -> set[tuple[str, str]]:
    response = client.post(PATH, json=body)
    assert response.status_code == 422
    return {(error["pointer"], error["code"]) for error in response.get_json()["errors"]}


def test_the_evening_is_answered(client: FlaskClient, body: Body) -> None:
    answer = answered(client, body)
    assert [one["drink_key"] for one in answer["pools"]] == ["highball", "fizz", "soda"]
    assert {vessel["state"] for vessel in answer["vessels"]} == {"empty", "open", "charged"}
    assert [one["next_opening"] for one in answer["pools"][:2]] == ["H3", "F3"]
    assert answer["refused_sales"] == []


def test_us_units_say_the_same(client: FlaskClient, body: Body) -> None:
    metric, us = answered(client, body), answered(client, body | {"units": "us"})
    assert metric["pools"] == us["pools"]


@pytest.mark.parametrize("pointer, value, code", [
    ("/sales/0/drink_key", 7, "not-a-string"),
    ("/sales/0/kind", "given", "not-a-choice"),
    ("/sales/0/serves", 0, "out-of-range"),
    ("/sales/0/voids", "s1", "not-needed"),
    ("/sales/99/serves", 2, "not-needed"),
    ("/sales/99/drink_key", "soda", "not-needed"),
    ("/sales/0/at", "2026-10-24T18:00:00", "not-a-moment"),
    ("/vessels/0/drink", {"composition": {"abv": 9, "sugar": {"value": 0, "unit": "g/l"}}}, "not-needed"),
    ("/vessels/0/vessel", {"preset": "keg-19-l"}, "not-needed"),
    ("/vessels/0/events/0/voids", "e2", "not-needed"),
    ("/drinks", [], "not-an-object"),
    ("/drinks/soda/composition/abv", 101, "out-of-range"),
    ("/drinks/soda/composition/strength", 4, "unknown-field"),
    ("/vessel_kinds/keg/preset", "bucket", "not-a-choice"),
])  # fmt: skip
def test_a_fault_of_shape_refuses_the_request(
    client: FlaskClient, body: Body, pointer: str, value: Any, code: str
) -> None:
    at = {"/vessels/0/drink": "/vessels/0/drink_key", "/vessels/0/vessel": "/vessels/0/vessel_kind"}.get(
        pointer, pointer
    )
    put(body, pointer, value)
    assert faults(client, body) == {(at, code)}


@pytest.mark.parametrize("pointer", ["/sales/0/drink_key", "/sales/99/voids", "/vessels/0/events/2/voids"])
def test_what_a_kind_needs_is_named(client: FlaskClient, body: Body, pointer: str) -> None:
    *way, last = pointer.split("/")[1:]
    node: Any = body
    for token in way:
        node = node[int(token)] if isinstance(node, list) else node[token]
    del node[last]
    assert faults(client, body) == {(pointer, "required")}


def test_keys_and_sales_are_bounded(client: FlaskClient, body: Body) -> None:
    """50 keys; 5,000 events and sales together, of which the example has three events."""
    many = body | {"drinks": {f"d{i}": body["drinks"]["soda"] for i in range(51)}}
    assert ("/drinks", "length") in faults(client, many)
    body["drinks"]["x" * 65] = body["drinks"]["soda"]
    assert {code for _, code in faults(client, body)} == {"length"}
    del body["drinks"]["x" * 65]
    at, key = body["sales"][0]["at"], "soda"
    body["sales"] = [{"id": str(i), "at": at, "drink_key": key} for i in range(4997)]
    assert len(answered(client, body)["refused_sales"]) == 1000
    body["sales"].append({"id": "one more", "at": at, "drink_key": key})
    assert faults(client, body) == {("/vessels", "length")}


def test_200_vessels_are_read_at_once(client: FlaskClient, body: Body) -> None:
    one = {name: value for name, value in body["vessels"][0].items() if name != "events"}
    body["vessels"] = [one | {"id": f"v{i}"} for i in range(200)]
    assert len(answered(client, body)["vessels"]) == 200
    body["vessels"].append(one | {"id": "one more"})
    assert faults(client, body) == {("/vessels", "length")}


def test_a_key_that_looks_like_a_pointer_is_named_as_one(client: FlaskClient, body: Body) -> None:
    """RFC 6901: ~ is ~0 and / is ~1."""
    body["drinks"]["a/b~c"] = {"composition": {"abv": 99, "sugar": {"value": 900, "unit": "g/l"}}}
    body["vessels"][0]["drink_key"] = "a/b~c"
    problem = answered(client, body)["vessels"][0]["problem"]
    assert {error["pointer"].rpartition("/composition")[0] for error in problem["errors"]} == {"/drinks/a~1b~0c"}


# What the refusal of one vessel or one point offers


def drink(abv: float, sugar: float, **more: Any) -> Body:
    return {"composition": {"abv": abv, "sugar": {"value": sugar, "unit": "g/l"}, **more}}


DRINKS = [drink(9, 70), drink(0, 60), drink(38, 10), drink(5, 30, live_culture=True)]
VESSELS = st.builds(
    lambda preset, more: {"preset": preset, **more},
    st.sampled_from(["pet-500-ml", "pet-1-l", "pet-2-l", "keg-9-l", "keg-19-l"]),
    st.fixed_dictionaries({}, optional={"cycles": st.integers(0, 12), "condition": st.just("creased")}),
)
AIRS = st.sampled_from([
    {"method": "left"}, {"method": "squeezed", "remaining": {"value": 400, "unit": "ml"}},
    {"method": "purged", "times": 2, "pressure": {"value": 5, "unit": "bar"}},
])  # fmt: skip
many = settings(
    deadline=None, max_examples=120, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@many
@given(
    logs=st.lists(st.fixed_dictionaries(
        {"drink": st.sampled_from(DRINKS), "vessel": VESSELS, "start": st.builds(
            lambda fill, co2: {"fill": fill, "co2": {"value": co2, "unit": "g/l"}},
            st.sampled_from([0.1, 0.5, 0.8, 0.99]), st.sampled_from([0, 5, 12]))},
        optional={"air": AIRS}), min_size=1, max_size=4),
    pour_ml=st.sampled_from([150, 400, 900, 1500]), at_c=st.sampled_from([-4, 3, 12, 30]),
)  # fmt: skip
def test_what_the_refusal_of_a_vessel_offers_works(
    client: FlaskClient, logs: list[Body], pour_ml: float, at_c: float
) -> None:
    body = {
        "now": "2026-11-28T21:40:00+01:00", "temperature": {"value": at_c, "unit": "c"},
        "pour": {"volume": {"value": pour_ml, "unit": "ml"}},
        "vessels": [log | {"id": str(i)} for i, log in enumerate(logs)],
    }  # fmt: skip
    for i, vessel in enumerate(answered(client, body)["vessels"]):
        if vessel["status"] == "refused":
            event("offered" if "nearest" in vessel["problem"] else "refused")
            for mended in offers(body, vessel["problem"]) if "nearest" in vessel["problem"] else ():
                assert answered(client, mended)["vessels"][i]["status"] == "ok"


@many
@given(
    of=st.sampled_from(DRINKS), vessel=VESSELS, fill=st.sampled_from([0.5, 0.8, 0.9]), air=AIRS | st.none(),
    target=st.sampled_from([3, 6, 8, 11]),
    temperatures=st.lists(st.sampled_from([-6, -1, 1, 4, 8, 14, 30]), min_size=2, max_size=5, unique=True),
)  # fmt: skip
def test_what_the_refusal_of_a_point_offers_works(
    client: FlaskClient, of: Body, vessel: Body, fill: float, air: Any, target: float, temperatures: list[float]
) -> None:
    body = {
        "drink": of, "vessel": vessel, "fill": fill, "target": {"value": target, "unit": "g/l"},
        "temperatures": [{"value": t, "unit": "c"} for t in temperatures], **({"air": air} if air else {}),
    }  # fmt: skip
    response = client.post("/v1/carbonation/set-points", json=body)
    if response.status_code != 200:
        return
    for i, point in enumerate(response.get_json()["points"]):
        if point["status"] == "refused":
            event("offered" if "nearest" in point["problem"] else "refused")
            for mended in offers(body, point["problem"]) if "nearest" in point["problem"] else ():
                again = client.post("/v1/carbonation/set-points", json=mended)
                assert again.status_code == 200
                assert again.get_json()["points"][i]["status"] == "ok"


def test_vessels_that_are_alike_share_a_trial_and_pointers_are_their_own(client: FlaskClient) -> None:
    log = {
        "drink": DRINKS[0], "vessel": {"preset": "pet-500-ml"}, "start": {"co2": {"value": 5, "unit": "g/l"}}
    }  # fmt: skip
    body = {
        "now": "2026-11-28T21:40:00+01:00",
        "pour": {"volume": {"value": 900, "unit": "ml"}},
        "vessels": [log | {"id": str(i)} for i in range(60)],
    }
    found = answered(client, body)["vessels"]
    assert {one["status"] for one in found} == {"refused"}
    assert {json.dumps(one["problem"]["nearest"]) for one in found} == {
        json.dumps([{"pointer": "/pour/volume", "value": found[0]["problem"]["nearest"][0]["value"]}])
    }

"""POST /v1/regas/forecasts over the wire."""

import copy
import json
from typing import Any

import pytest

from service.api.openapi import example
from service.science.units import to_base
from tests.api.conforms import conforms
from tests.api.nearest import offers, put

PATH = "/v1/regas/forecasts"


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createRegasForecast"))


def post(client, body):
    return client.post(PATH, data=json.dumps(body), content_type="application/json")


def test_the_example_is_what_the_document_promises(client, body):
    answer = post(client, body).get_json()
    conforms("createRegasForecast", answer)
    assert answer["pours"][1]["at"] == "2026-11-28T18:07:30+01:00"


@pytest.mark.parametrize("vessel", ["pet-500-ml", "pet-1-l", "keg-19-l"])
def test_silence_is_filled_and_said(client, body, vessel):
    asked = {"drink": body["drink"], "vessel": {"preset": vessel}, "co2": {"value": 5, "unit": "g/l"},
             "pour": {"volume": {"value": 6, "unit": "oz"}}, "shift": {"serves_per_hour": 20}}  # fmt: skip
    answer = post(client, asked).get_json()
    conforms("createRegasForecast", answer)
    pointers = {pointer for a in answer["assumptions"] for pointer in a["pointers"]}
    assert {"/vessel_count", "/fill", "/temperature", "/air", "/pour/manner", "/shift/floor", "/shift/open_for",
            "/shift/lasts", "/site/altitude"} <= pointers  # fmt: skip
    assert not any("at" in pour for pour in answer["pours"])


def test_us_units_say_the_same(client, body):
    """Tolerance 1e-9: twelve digits on the wire; pressures in mbar are known to 1e-12 of their bar."""
    metric, us = post(client, body).get_json(), post(client, {**body, "units": "us"}).get_json()
    assert us["pours"][0]["glass"]["unit"] == "volumes"
    for one, other in zip(metric["pours"], us["pours"], strict=True):
        for name, kind in (("bottle", "co2"), ("glass", "co2"), ("gauge_pressure", "pressure")):
            for end in ("low", "typical", "high"):
                assert to_base(kind, other[name][end], other[name]["unit"]) == pytest.approx(
                    to_base(kind, one[name][end], one[name]["unit"]), rel=1e-9, abs=1e-11
                )


@pytest.mark.parametrize(
    "changes, slug",
    [
        ({"pour": {"volume": {"value": 30, "unit": "oz"}}}, "pour-too-large"),
        ({"fill": 0.95, "co2": {"value": 5, "unit": "g/l"}}, "no-headspace"),
        ({"temperature": {"value": -5, "unit": "c"}}, "would-freeze"),
        ({"vessel": {"preset": "keg-19-l"}}, "air-handling"),
        ({"air": {"method": "squeezed", "remaining": {"value": 2, "unit": "l"}}}, "air-handling"),
        ({"fill": 0.99, "co2": {"value": 12, "unit": "g/l"},
          "pour": {"volume": {"value": 1.5, "unit": "l"}}, "temperature": {"value": -4, "unit": "c"}}, "refused"),
    ],
)  # fmt: skip
def test_what_is_offered_works(client, body, changes, slug):
    asked = {**body, **changes}
    problem = post(client, asked).get_json()
    assert problem["type"] == f"/problems/{slug}", problem
    assert [post(client, mended).status_code for mended in offers(asked, problem)] == [200]


@pytest.mark.parametrize("condition", ["creased", "whitened", "bulged", "dropped", "unknown"])
def test_a_vessel_that_is_named_is_judged_and_none_is_offered(client, body, condition):
    problem = post(client, {**body, "vessel": {"preset": "pet-1-l", "condition": condition}}).get_json()
    assert [error["pointer"] for error in problem["errors"]] == ["/vessel/condition"]
    assert not {"nearest", "offers"} & problem.keys()


@pytest.mark.parametrize(
    "changes",
    [
        {"co2": {"value": 9, "unit": "g/l"}},
        {"co2": {"value": 20, "unit": "g/l"}},
        {"temperature": {"value": 39, "unit": "c"}},
        {"vessel": {"preset": "keg-30-l"}, "air": {"method": "purged"}, "co2": {"value": 8, "unit": "g/l"}},
    ],
)
def test_a_level_that_the_vessel_does_not_stand_is_told_as_a_danger(client, body, changes):
    """It is asked what such a vessel does; nothing is charged by asking."""
    answer = post(client, {**body, **changes}).get_json()
    conforms("createRegasForecast", answer)
    (danger,) = (caution for caution in answer["cautions"] if caution["severity"] == "danger")
    assert (danger["code"], danger["pointers"]) == ("over-vessel-limit", ["/co2"])
    assert "cool it where it stands" in danger["text"]
    assert "recharge" not in answer


@pytest.mark.parametrize(
    "changes",
    [{"co2": {"value": 0.5, "unit": "volumes"}}, {"temperature": {"value": 60, "unit": "f"}},
     {"co2": {"value": 20, "unit": "g/l"}, "vessel": None}],
)  # fmt: skip
def test_what_the_equations_reach_is_answered(client, body, changes):
    asked = {name: value for name, value in {**body, **changes}.items() if value is not None}
    answer = post(client, asked).get_json()
    conforms("createRegasForecast", answer)
    assert "danger" not in {caution["severity"] for caution in answer["cautions"]}


def test_each_gain_is_said_with_its_figures(client, body):
    """Its code is the change as clients knew it before; the text holds the params that stand beside it."""
    answer = post(client, {**body, "temperature": {"value": 8, "unit": "c"}}).get_json()
    gains = answer["gains"]
    assert {gain["code"] for gain in gains} >= {"pour-gently", "open-less"}
    for gain in gains:
        assert gain["change"] == gain["code"]
        assert gain["glass"]["typical"] > answer["last_glass"]["typical"]
        assert all(one["text"] in gain["text"] for one in gain["params"])
        assert "{" not in gain["text"]


@pytest.mark.parametrize(
    "pointer, value, code",
    [
        ("/nonsense", 1, "unknown-field"),
        ("/shift/nonsense", 1, "unknown-field"),
        ("/co2/unit", "bar", "unit"),
        ("/co2/value", -1, "out-of-range"),
        ("/co2", None, "null"),
        ("/vessel_count", 1.5, "not-an-integer"),
        ("/vessel_count", 51, "out-of-range"),
        ("/pour/volume/value", 0, "out-of-range"),
        ("/pour/manner", "upside-down", "not-a-choice"),
        ("/shift/serves_per_hour", 0, "out-of-range"),
        ("/shift/starts_at", "2026-11-28T18:00:00", "not-a-moment"),
        ("/shift/starts_at", "2026-02-30T18:00:00Z", "not-a-moment"),
        ("/shift/lasts/value", True, "not-a-number"),
    ],
)
def test_bad_input_is_named(client, body, pointer, value, code):
    put(body, pointer, value)
    response = post(client, body)
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)


@pytest.mark.parametrize("name", ["drink", "co2", "pour", "shift"])
def test_what_is_required(client, body, name):
    del body[name]
    (error,) = post(client, body).get_json()["errors"]
    assert (error["pointer"], error["code"]) == (f"/{name}", "required")


def test_a_number_that_is_none_is_not_json(client, body):
    text = json.dumps(body).replace('"serves_per_hour": 8', '"serves_per_hour": NaN')
    assert client.post(PATH, data=text, content_type="application/json").status_code == 400

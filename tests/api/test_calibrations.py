"""POST /v1/regas/calibrations over the wire, and what its answer does in other requests."""

import copy
import json
from typing import Any

import pytest

from service import MODEL
from service.api.openapi import example
from service.science.units import to_base
from tests.api.conforms import conforms
from tests.api.nearest import put

PATH = "/v1/regas/calibrations"


@pytest.fixture
def body() -> dict[str, Any]:
    return copy.deepcopy(example("createCalibration"))


def post(client, body, path=PATH):
    return client.post(path, data=json.dumps(body), content_type="application/json")


def bar(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "bar"}


def seconds(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "s"}


def grams(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "g"}


def masses(before: float, after: float) -> dict[str, Any]:
    return {"mass_before": grams(before), "mass_after": grams(after)}


SHAKEN = [
    {"elapsed": seconds(at), "gauge_pressure": bar(1.8), **masses(870.0, after)}
    for at, after in ((10.0, 872.4), (20.0, 873.5), (30.0, 874.3), (45.0, 875.1))
]
"""Invented, near what the model makes of 0.03 per second."""
LEFT_OPEN = [
    {"elapsed": seconds(0), "gauge_pressure": bar(1.6)},
    *({"elapsed": seconds(at), **masses(860.0, after)}
      for at, after in ((900.0, 859.6), (1800.0, 859.3), (2700.0, 858.9), (3600.0, 858.6))),
]  # fmt: skip
"""Invented, near what the model makes of 8e-5 per second."""


POURED = [
    {"gauge_pressure": bar(1.6)},
    *(masses(before, before - 0.5) for before in (1210.0, 1209.4, 1211.3, 1210.8)),
]
"""Invented, near what the model makes of a share of 0.22 of pours of 700 ml."""


def of_kind(body, kind: str) -> dict[str, Any]:
    if kind == "uptake":
        return {**body, "kind": kind, "agitation": "shaken", "readings": copy.deepcopy(SHAKEN)}
    if kind == "pour":
        pour = {"volume": {"value": 700, "unit": "ml"}, "manner": "gentle"}
        return {**body, "kind": kind, "pour": pour, "readings": copy.deepcopy(POURED)}
    return {**body, "kind": kind, "readings": copy.deepcopy(LEFT_OPEN)} if kind == "loss" else body


@pytest.mark.parametrize(
    "kind, field",
    [("solubility", "solubility"), ("uptake", "uptake_per_s"), ("loss", "loss_per_s"), ("pour", "pour_loss")],
)
def test_each_kind_is_what_the_document_promises(client, body, kind, field):
    response = post(client, of_kind(body, kind))
    assert response.status_code == 200, response.get_json()
    answer = response.get_json()
    conforms("createCalibration", answer)
    assert set(answer["calibration"]) == {field, "vessel", "model"}
    assert answer["calibration"]["model"] == MODEL
    assert answer["judgement"]["code"] in ("within-model", "outside-model")
    assert "{" not in answer["judgement"]["text"]
    assert [point["number"] for point in answer["fit"]] == ([2, 3, 4, 5] if kind in ("loss", "pour") else [1, 2, 3, 4])


def test_us_units_say_the_same(client, body):
    """Tolerance 1e-9: twelve digits on the wire; a residual is the difference of two of them."""
    body["vessel"] = {"preset": "pet-1-l", "capacity": {"value": 1, "unit": "l"}, "closed_limit": bar(5)}
    metric, us = (post(client, {**body, "units": units}).get_json() for units in ("metric", "us"))
    assert us["calibration"]["solubility"] == metric["calibration"]["solubility"]
    assert us["calibration"]["vessel"]["capacity"]["unit"] == "oz"
    assert us["calibration"]["vessel"]["closed_limit"]["unit"] == "psi"
    loss = of_kind(body, "loss")
    loss["readings"] = [loss["readings"][0], *({"elapsed": seconds(at), "gauge_pressure": bar(p)}
                                               for at, p in ((1200.0, 1.1), (2400.0, 0.7), (3600.0, 0.4)))]  # fmt: skip
    metric, us = (post(client, {**loss, "units": units}).get_json() for units in ("metric", "us"))
    for one, other in zip(metric["fit"], us["fit"], strict=True):
        assert other["fitted"]["unit"] == "psi"
        assert to_base("pressure", other["fitted"]["value"], "psi") == pytest.approx(one["fitted"]["value"], rel=1e-9)


FIELDS = ("elapsed", "gauge_pressure", "mass_before", "mass_after")


@pytest.mark.parametrize(
    "kind, i, field",
    [
        *(("solubility", 1, field) for field in FIELDS[1:]),
        *(("uptake", 1, field) for field in FIELDS),
        *(("loss", 0, field) for field in FIELDS[:2]),
        *(("loss", 2, field) for field in ("elapsed", "mass_before", "mass_after")),
        ("pour", 0, "gauge_pressure"),
        *(("pour", 2, field) for field in ("mass_before", "mass_after")),
    ],
)
def test_a_field_that_the_kind_needs(client, body, kind, i, field):
    asked = of_kind(body, kind)
    del asked["readings"][i][field]
    (error,) = post(client, asked).get_json()["errors"]
    assert (error["pointer"], error["code"]) == (f"/readings/{i}/{field}", "required")


@pytest.mark.parametrize(
    "kind, i, field, value",
    [
        ("solubility", 2, "elapsed", seconds(3)),
        ("loss", 0, "mass_before", grams(860)),
        ("loss", 2, "gauge_pressure", bar(1)),
        ("pour", 0, "elapsed", seconds(0)),
        ("pour", 2, "gauge_pressure", bar(1)),
    ],
)
def test_a_field_that_the_kind_does_not_ask_for(client, body, kind, i, field, value):
    asked = of_kind(body, kind)
    asked["readings"][i][field] = value
    (error,) = post(client, asked).get_json()["errors"]
    assert (error["pointer"], error["code"]) == (f"/readings/{i}/{field}", "not-needed")


def test_a_closed_bottle_is_weighed_at_the_start_or_not_at_all(client, body):
    readings = [{"elapsed": seconds(at), "gauge_pressure": bar(1.8)} for at in (0.0, 5.0, 10.0, 20.0)]
    readings[0]["mass_after"] = grams(875.0)
    (error,) = post(client, {**of_kind(body, "uptake"), "readings": readings}).get_json()["errors"]
    assert (error["pointer"], error["code"]) == ("/readings/0/mass_before", "required")


@pytest.mark.parametrize("kind, given, code", [("uptake", None, "required"), ("loss", "shaken", "not-needed")])
def test_agitation_goes_with_an_uptake(client, body, kind, given, code):
    asked = of_kind(body, kind)
    asked.pop("agitation", None)
    asked |= {} if given is None else {"agitation": given}
    (error,) = post(client, asked).get_json()["errors"]
    assert (error["pointer"], error["code"]) == ("/agitation", code)


@pytest.mark.parametrize(
    "pointer, value, code",
    [
        ("/nonsense", 1, "unknown-field"),
        ("/readings/0/nonsense", 1, "unknown-field"),
        ("/kind", "temperature", "not-a-choice"),
        ("/readings", [], "length"),
        ("/readings", "x", "not-a-list"),
        ("/readings/1", 3, "not-an-object"),
        ("/readings/1/gauge_pressure/value", -1, "out-of-range"),
        ("/readings/1/gauge_pressure/value", "1", "not-a-number"),
        ("/readings/1/mass_before/unit", "bar", "unit"),
        ("/temperature", None, "null"),
    ],
)
def test_bad_input_is_named(client, body, pointer, value, code):
    put(body, pointer, value)
    response = post(client, body)
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)


def test_fifty_one_readings_are_refused(client, body):
    body["readings"] = body["readings"][:1] * 51
    (error,) = post(client, body).get_json()["errors"]
    assert (error["pointer"], error["code"]) == ("/readings", "length")


@pytest.mark.parametrize(
    "changes, slug",
    [
        ({"vessel": {"material": "glass"}}, "vessel-refused"),
        ({"fill": 0.95}, "readings-cannot-tell"),
        ({"temperature": {"value": 15, "unit": "c"}}, "readings-cannot-tell"),
        ({"temperature": {"value": 41, "unit": "c"}}, "too-warm"),
        ({"temperature": {"value": -5, "unit": "c"}}, "would-freeze"),
        ({"readings": [{"gauge_pressure": {"value": 30, "unit": "bar"}, "mass_before": grams(868),
                        "mass_after": grams(873)}] * 3}, "impossible-reading"),
    ],
)  # fmt: skip
def test_what_was_observed_is_refused_only_beyond_the_equations_and_never_rewritten(client, body, changes, slug):
    problem = post(client, {**body, **changes}).get_json()
    assert problem["type"] == f"/problems/{slug}", problem
    assert not {"nearest", "offers"} & problem.keys()


@pytest.mark.parametrize(
    "changes, codes",
    [
        ({"fill": 0.92}, {"no-headspace"}),
        ({"vessel": {"preset": "pet-1-l", "condition": "bulged", "cycles": 40}}, {"unsound", "retired"}),
        ({"vessel": {"preset": "pet-1-l", "made_for_carbonation": False}}, {"unrated"}),
        ({"vessel": {"preset": "pet-1-l", "closed_limit": {"value": 1, "unit": "bar"}}}, {"reading-over-limit"}),
    ],
)
def test_a_vessel_that_is_not_charged_again_is_calibrated_and_its_danger_told(client, body, changes, codes):
    answer = post(client, {**body, **changes}).get_json()
    conforms("createCalibration", answer)
    told = {caution["code"]: caution["text"] for caution in answer["cautions"] if caution["severity"] == "danger"}
    assert told.keys() == codes
    assert all("cool it where it stands" in told[code] for code in codes)


def test_the_start_is_asked_for_and_not_made_up(client, body):
    asked = of_kind(body, "loss")
    asked["readings"][0]["elapsed"] = seconds(30)
    problem = post(client, asked).get_json()
    assert problem["type"] == "/problems/impossible-reading"
    assert [error["code"] for error in problem["errors"]] == ["not-at-the-start"]
    assert "nearest" not in problem


def test_readings_that_cannot_tell_are_refused_with_the_numbers(client, body):
    body["site"]["scale"] = {"resolution": grams(5)}
    problem = post(client, body).get_json()
    assert problem["type"] == "/problems/readings-cannot-tell"
    (error,) = problem["errors"]
    assert (error["pointer"], error["code"]) == ("/readings", "too-uncertain")
    assert {"reach", "most_reach", "scatter", "reading_error"} <= {fact["name"] for fact in problem["facts"]}


@pytest.mark.parametrize(
    "path, name", [("/v1/carbonation/set-points", "createSetPoints"), ("/v1/carbonation/charges", "createCharges"),
                   ("/v1/regas/forecasts", "createRegasForecast")],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["solubility", "uptake", "loss"])
@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_calibration_goes_into_other_requests_as_it_is(client, body, path, name, kind, units):
    calibration = post(client, {**of_kind(body, kind), "units": units}).get_json()["calibration"]
    """At a level that leaves room: a drink that dissolves less takes a higher dial, and the limit stays."""
    lower = {} if "co2" in example(name) else {"target": {"value": 5, "unit": "g/l"}}
    response = post(client, {**example(name), **lower, "calibration": calibration}, path)
    assert response.status_code == 200, response.get_json()


def test_it_narrows_a_band_and_raises_no_limit(client, body):
    calibration = post(client, body).get_json()["calibration"]
    at_5_g_per_l = {"drink": body["drink"], "target": {"value": 5, "unit": "g/l"}}

    def answers(path, name):
        asked = {**example(name), **at_5_g_per_l}
        return [post(client, {**asked, **own}, path).get_json() for own in ({}, {"calibration": calibration})]

    dials = [
        answer["points"][0]["gauge_pressure"] for answer in answers("/v1/carbonation/set-points", "createSetPoints")
    ]
    bare, known = ((dial["high"] - dial["low"]) / dial["typical"] for dial in dials)
    assert known < bare
    bare, known = answers("/v1/carbonation/charges", "createCharges")
    assert known["never_over"]["value"] <= bare["never_over"]["value"]


def test_a_pour_and_an_agitation_stand_where_they_are_asked_for(client, body):
    for asked, pointer, code in (
        ({**of_kind(body, "pour"), "agitation": "shaken"}, "/agitation", "not-needed"),
        ({**body, "pour": {"volume": {"value": 700, "unit": "ml"}}}, "/pour", "not-needed"),
        ({k: v for k, v in of_kind(body, "pour").items() if k != "pour"}, "/pour", "required"),
    ):
        (error,) = post(client, asked).get_json()["errors"]
        assert (error["pointer"], error["code"]) == (pointer, code)


def test_a_pour_larger_than_the_vessel_is_refused_and_not_rewritten(client, body):
    asked = of_kind(body, "pour")
    asked["pour"]["volume"] = {"value": 1500, "unit": "ml"}
    problem = post(client, asked).get_json()
    assert problem["type"] == "/problems/pour-too-large"
    assert "nearest" not in problem  # what was poured is not rewritten


def test_a_pour_loss_goes_into_a_forecast_as_it_is(client, body):
    own = post(client, of_kind(body, "pour")).get_json()["calibration"]
    forecast = copy.deepcopy(example("createRegasForecast"))
    forecast.pop("calibration", None)
    forecast["pour"]["manner"] = "gentle"
    answers = [post(client, asked, "/v1/regas/forecasts") for asked in (forecast, {**forecast, "calibration": own})]
    assert [answer.status_code for answer in answers] == [200, 200]
    plain, measured = (answer.get_json()["pours"][0]["glass"]["typical"] for answer in answers)
    assert measured < plain


@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_vessel_with_a_rated_temperature_comes_back_as_it_may_be_sent(client, body, units):
    rated = {"closure": "metal", "rated_by": "maker", "rated_at": {"value": 38, "unit": "c"}, "closed_limit": bar(8)}
    own = post(client, {**body, "vessel": {"preset": "pet-1-l", **rated}, "units": units}).get_json()["calibration"]
    at = own["vessel"]["rated_at"]
    assert to_base("temperature", at["value"], at["unit"]) == pytest.approx(38.0)
    forecast = {**example("createRegasForecast"), "calibration": own}
    assert post(client, forecast, "/v1/regas/forecasts").status_code == 200

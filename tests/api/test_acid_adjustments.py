"""Adjustments of acidity through the API."""

from copy import deepcopy
from math import nan

import pytest

from service.api.openapi import example
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, put

PATH = "/v1/acid-adjustments"
SOLUTION = {"solution": {"acids": [{"acid": "citric", "percent": 6}], "basis": "w/v"}}
DRY, WATER, BICARBONATE = {"dry": [{"acid": "tartaric"}]}, {"water": {}}, {"bicarbonate": {}}
TITRATION = {"naoh": {"value": 12, "unit": "ml"}, "normality": 0.1, "sample": {"value": 15, "unit": "ml"},
             "end_point": "ph-8.2"}  # fmt: skip


@pytest.fixture
def body():
    return example("createAcidAdjustment")


def asked(using, target=12.0, acidity=6.0, **more):
    return {
        "liquid": {"volume": {"value": 1, "unit": "l"}, "acidity": tartaric(acidity)},
        "target": tartaric(target),
        "using": using,
        **more,
    }


def tartaric(g_per_l):
    return {"value": g_per_l, "unit": "g/l", "expressed_as": "tartaric"}


@pytest.mark.parametrize("using, target", [(SOLUTION, 12.0), (DRY, 12.0), (WATER, 4.0), (BICARBONATE, 4.0)])
@pytest.mark.parametrize(
    "change",
    [
        {},
        {"/units": "us", "/labels": {"bench": "2"}},
        {"/liquid/abv": 12, "/liquid/sugar": {"value": 8, "unit": "brix"}},
        {"/scale": {"resolution": {"value": 0.5, "unit": "g"}, "capacity": {"value": 20, "unit": "g"}}},
        {"/coldest_storage": {"value": 1, "unit": "c"}},
    ],
)
def test_answers_are_what_the_document_promises(client, using, target, change):
    request = asked(deepcopy(using), target)
    for pointer, value in change.items():
        put(request, pointer, value)
    answer = client.post(PATH, json=request)
    assert answer.status_code == 200, answer.json
    conforms("createAcidAdjustment", answer.json)
    assert answer.json["titratable_acidity"]["as_tartaric"]["value"] == pytest.approx(target, rel=1e-9)
    assert answer.json["before"]["as_tartaric"]["value"] == pytest.approx(6.0, rel=1e-9)


def test_the_example_runs(client, body):
    answer = client.post(PATH, json=body)
    assert answer.status_code == 200, answer.json
    conforms("createAcidAdjustment", answer.json)
    assert [(line["name"], line["form"]) for line in answer.json["add"]] == [("citric acid", "citric-monohydrate"),
                                                                              ("malic acid", "malic")]  # fmt: skip
    assert all(
        line["measure"]["value"] == pytest.approx(line["mass"]["value"], abs=0.05) for line in answer.json["add"]
    )


def test_us_and_metric_answers_agree(client):
    metric, us = (client.post(PATH, json=asked(SOLUTION, units=units)).json for units in ("metric", "us"))
    assert us["volume"] == {"value": pytest.approx(metric["volume"]["value"] / 29.5735295625, rel=1e-9), "unit": "oz"}
    assert us["add"][0]["mass"] == metric["add"][0]["mass"]
    assert us["titratable_acidity"] == metric["titratable_acidity"]


def test_bicarbonate_tells_what_leaves_and_what_stays(client):
    answer = client.post(PATH, json=asked(BICARBONATE, 5.0)).json
    mass = answer["add"][0]["mass"]["value"]
    assert answer["co2_released"]["value"] == pytest.approx(mass * 44.01 / 100.115, rel=1e-4)  # chemicals 1.5.2
    assert answer["potassium_added"]["value"] == pytest.approx(mass * 39.098 / 100.115, rel=1e-4)
    assert {"co2_released", "potassium_added"}.isdisjoint(client.post(PATH, json=asked(WATER, 5.0)).json)
    assert "volume" not in answer["add"][0]


@pytest.mark.parametrize("end_point, more", [("ph-8.2", {}), ("ph-7", {}), ("ph-7", {"main_acid": "tartaric"})])
def test_a_titration_stands_for_an_acidity(client, end_point, more):
    request = asked(DRY)
    del request["liquid"]["acidity"]
    request["liquid"]["titration"] = {**TITRATION, "end_point": end_point, **more}
    answer = client.post(PATH, json=request)
    assert answer.status_code == 200, answer.json
    conforms("createAcidAdjustment", answer.json)
    before = answer.json["before"]["as_tartaric"]["value"]
    assert before == pytest.approx(6.0, rel=0.05)  # citric acid shows 96 % of itself at pH 7
    assert (before > 6.1) == (end_point == "ph-7" and not more)
    codes = {caution["code"] for caution in answer.json["cautions"]}
    assert ("titrated-to-ph-7" in codes) == (end_point == "ph-7")


def test_every_silent_field_is_an_assumption_where_it_would_be_stated(client):
    for using, at in ((SOLUTION, "/using/solution/acids/0/form"), (DRY, "/using/dry/0/purity_percent"),
                      (WATER, "/using/water/alkalinity_meq_per_l"),
                      (BICARBONATE, "/using/bicarbonate/purity_percent")):  # fmt: skip
        answer = client.post(PATH, json=asked(using, 12.0 if using in (SOLUTION, DRY) else 4.0)).json
        pointers = {p for assumption in answer["assumptions"] for p in assumption["pointers"]}
        assert pointers >= {"/liquid/abv", "/liquid/sugar", at}


@pytest.mark.parametrize(
    "using, target, code",
    [
        (SOLUTION, 4.0, "below-the-start"),
        (DRY, 4.0, "below-the-start"),
        (DRY, 0.02, "below-the-start"),
        (WATER, 12.0, "above-the-start"),
        (BICARBONATE, 900.0, "above-the-start"),
        (SOLUTION, 71.0, "beyond-the-acids"),
        ({"dry": [{"acid": "acetic"}]}, 70.0, "beyond-the-acids"),
        (DRY, 900.0, "too-strong"),
        ({"dry": [{"acid": "succinic"}]}, 100.0, "over-saturation"),
        (WATER, 0.02, "too-much-water"),
        (BICARBONATE, 1.0, "too-much-neutralised"),
    ],
)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_refusals_offer_what_works(client, using, target, code, units):
    request = asked(using, target, units=units)
    problem = client.post(PATH, json=request)
    assert problem.status_code == 422
    assert problem.mimetype == "application/problem+json"
    assert problem.json["type"] in ("/problems/unreachable", "/problems/refused")
    assert problem.json["errors"][0]["code"] == code
    assert {"start", "reach"} <= {fact["name"] for fact in problem.json["facts"]}
    again = client.post(PATH, json=apply_nearest(request, problem.json))
    assert again.status_code == 200, again.json


@pytest.mark.parametrize(
    "acids, code",
    [
        ([{"acid": "lactic", "percent": 98}, {"acid": "malic", "percent": 3}], "no-room-for-water"),
        ([{"acid": "succinic", "percent": 9}], "over-saturation"),
        ([{"acid": "acetic", "percent": 6}], "products-bring-too-much-water"),
    ],
)
def test_a_solution_that_cannot_be_is_told_where_it_stands(client, acids, code):
    request = asked({"solution": {"acids": acids, "basis": "w/w"}}, 12.0)
    problem = client.post(PATH, json=request)
    assert problem.status_code == 422
    assert problem.json["errors"][0]["code"] == code
    assert problem.json["errors"][0]["pointer"].startswith("/using/solution/acids")
    again = client.post(PATH, json=apply_nearest(request, problem.json))
    assert again.status_code == 200, again.json


@pytest.mark.parametrize(
    "pointer, value, at, code",
    [
        ("/liquid/volum", 1, "/liquid/volum", "unknown-field"),
        ("/using", {}, "/using", "exactly-one"),
        ("/using", {**WATER, **BICARBONATE}, "/using", "exactly-one"),
        ("/using", {"water": {"hardness": 3}}, "/using/water/hardness", "unknown-field"),
        ("/using/water", None, "/using/water", "null"),
        ("/using", {"bicarbonate": {"purity_percent": 30}}, "/using/bicarbonate/purity_percent", "out-of-range"),
        ("/using", {"dry": []}, "/using/dry", "length"),
        ("/using", {"dry": [{"acid": "citric"}, {"acid": "malic"}]}, "/using/dry/0/share", "required"),
        ("/using", {"dry": [{"acid": "citric", "percent": 5}]}, "/using/dry/0/percent", "not-needed"),
        ("/using", {"dry": [{"acid": "citric", "form": "malic"}]}, "/using/dry/0/form", "form-of-another-acid"),
        ("/liquid/titration", TITRATION, "/liquid", "exactly-one"),
        ("/liquid/volume", {"value": 0, "unit": "l"}, "/liquid/volume/value", "out-of-range"),
        ("/liquid/abv", 97, "/liquid/abv", "out-of-range"),
        ("/target", {"value": 7, "unit": "g/l"}, "/target/expressed_as", "not-a-choice"),
        ("/target", {"value": 0, "unit": "meq/l"}, "/target/value", "out-of-range"),
        ("/target", "sour", "/target", "not-a-quantity"),
        ("/liquid/titration", {**TITRATION, "end_point": "blue"}, "/liquid/titration/end_point", "not-a-choice"),
        ("/liquid/titration", {**TITRATION, "main_acid": "malic"}, "/liquid/titration/main_acid", "not-needed"),
        ("/liquid/titration", {**TITRATION, "normality": 0}, "/liquid/titration/normality", "out-of-range"),
    ],
)
def test_bad_input_is_named_where_it_stands(client, pointer, value, at, code):
    request = asked(deepcopy(WATER), 4.0)
    put(request, pointer, value)
    problem = client.post(PATH, json=request)
    assert problem.status_code == 422
    assert (at, code) in {(error["pointer"], error["code"]) for error in problem.json["errors"]}


@pytest.mark.parametrize("name", ["liquid", "target", "using"])
def test_missing_fields_are_named(client, body, name):
    del body[name]
    problem = client.post(PATH, json=body)
    assert [(e["pointer"], e["code"]) for e in problem.json["errors"]] == [(f"/{name}", "required")]


@pytest.mark.parametrize(
    "liquid, slug, at",
    [
        ({"acidity": tartaric(400.0)}, "outside-validity", "/liquid"),
        (
            {"titration": {**TITRATION, "normality": 10, "sample": {"value": 0.1, "unit": "ml"}}},
            "impossible-composition",
            "/liquid",
        ),
        (
            {"acidity": tartaric(6.0), "abv": 60, "sugar": {"value": 900, "unit": "g/l"}},
            "impossible-composition",
            "/liquid",
        ),
        ({"titration": {**TITRATION, "normality": 10, "end_point": "ph-7"}}, "impossible-reading", "/liquid/titration"),
    ],
)
def test_liquids_that_cannot_be_are_refused(client, liquid, slug, at):
    request = asked(WATER, 4.0)
    request["liquid"] = {"volume": {"value": 1, "unit": "l"}, **liquid}
    problem = client.post(PATH, json=request)
    assert problem.status_code == 422
    assert problem.json["type"] == f"/problems/{slug}"
    assert [error["pointer"] for error in problem.json["errors"]] == [at]


def test_nan_is_not_json(client, body):
    body["liquid"]["volume"]["value"] = nan  # Python writes it as a bare NaN
    assert client.post(PATH, json=body).status_code in (400, 422)

"""Doses of acid through the API."""

import pytest

from service.api.openapi import example
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, put

PATH = "/v1/acid-doses"
KNOWN = {"spec": {"name": "Invented fizz", "components": [
    {"name": "gin", "amount": {"value": 40, "unit": "ml"}, "abv": 40},
    {"name": "acid", "amount": {"value": 20, "unit": "ml"},
     "acid_solution": {"acids": [{"acid": "citric", "percent": 6}], "basis": "w/v"}},
    {"name": "water", "amount": {"value": 100, "unit": "ml"}},
]}}  # fmt: skip


@pytest.fixture
def body():
    return example("createAcidDose")


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"/units": "us"},
        {"/drink": KNOWN},
        {"/measured": {"acidity": {"value": 70, "unit": "meq/l"}, "ph": 3.1}},
        {"/solution": {"acids": [{"acid": "lactic", "percent": 10}], "basis": "w/w"}},
        {"/temperature": {"value": 4, "unit": "c"}},
    ],
)
def test_answers_are_what_the_document_promises(client, body, change):
    for pointer, value in change.items():
        put(body, pointer, value)
    answer = client.post(PATH, json=body)
    assert answer.status_code == 200, answer.json
    conforms("createAcidDose", answer.json)
    assert answer.json["titratable_acidity"]["as_tartaric"]["value"] == pytest.approx(6.5, rel=1e-9)
    assert answer.json["ph"]["high"] < answer.json["before"]["ph"]["high"] + 0.1


def test_ph_is_told_to_a_tenth(client, body):
    answer = client.post(PATH, json=body).json
    for ph in (answer["before"]["ph"], answer["ph"]):
        assert all(round(value, 1) == value for value in ph.values())
        assert ph["low"] < ph["typical"] < ph["high"]


def test_the_dose_of_a_target_posted_as_a_dose_meets_it(client, body):
    found = client.post(PATH, json=body).json
    del body["target"]
    body["dose"] = found["dose"]
    again = client.post(PATH, json=body).json
    assert again["titratable_acidity"]["meq_per_l"] == pytest.approx(found["titratable_acidity"]["meq_per_l"], rel=1e-9)
    assert again["ph"] == found["ph"]


def test_ph_of_juice_is_left_out_with_the_reason(client, body):
    del body["measured"]
    answer = client.post(PATH, json=body)
    assert answer.status_code == 200
    conforms("createAcidDose", answer.json)
    assert "ph" not in answer.json
    assert "ph" not in answer.json["before"]
    (said,) = [c for c in answer.json["cautions"] if c["code"] == "ph-not-known"]
    assert said["pointers"] == ["/measured", "/drink/composition/acidity"]
    assert "read its pH" in said["text"]


def test_acids_in_hand_come_with_their_cautions(client, body):
    answer = client.post(PATH, json=body).json
    codes = {caution["code"] for caution in answer["cautions"]}
    assert {"handling-h318", "handling-h319", "tartaric-meets-potassium"} <= codes


@pytest.mark.parametrize(
    "change, at, code",
    [
        ({"/target": {"value": 4, "unit": "g/l", "expressed_as": "tartaric"}}, "/target", "below-the-start"),
        ({"/target": {"value": 900, "unit": "meq/l"}}, "/target", "beyond-the-acids"),
        ({"/measured/ph": 1.0}, "/measured/ph", "impossible-reading"),
        ({"/drink": {"spec": {"name": "Invented sour", "components": [
            {"name": "lime", "amount": {"value": 20, "unit": "ml"}, "acidity": {"value": 20, "unit": "meq/l"},
             "ph": 1.1},
            {"name": "water", "amount": {"value": 100, "unit": "ml"}}]}}, "/measured": None},
         "/drink/spec/components/0/ph", "impossible-reading"),
        ({"/solution": {"acids": [{"acid": "succinic", "percent": 9}], "basis": "w/v"}}, "/solution/acids/0/percent",
         "over-saturation"),
        ({"/solution": {"acids": [{"acid": "acetic", "percent": 6}], "basis": "w/w"}}, "/solution/acids",
         "products-bring-too-much-water"),
    ],
)  # fmt: skip
def test_refusals_offer_what_works(client, body, change, at, code):
    for pointer, value in change.items():
        put(body, pointer, value)
    if body["measured"] is None:
        del body["measured"]
    problem = client.post(PATH, json=body)
    assert problem.status_code == 422
    assert (at, code) in {(error["pointer"], error["code"]) for error in problem.json["errors"]}
    again = client.post(PATH, json=apply_nearest(body, problem.json))
    assert again.status_code == 200, again.json


@pytest.mark.parametrize(
    "pointer, value, at, code",
    [
        ("/dose", {"value": 5, "unit": "ml"}, "", "exactly-one"),
        ("/serve", {"value": 0, "unit": "ml"}, "/serve/value", "out-of-range"),
        ("/measured/ph", 8, "/measured/ph", "out-of-range"),
        ("/measured/ph", "low", "/measured/ph", "not-a-number"),
        ("/measured/salt", 1, "/measured/salt", "unknown-field"),
        ("/measured/main_acid", "sulphuric", "/measured/main_acid", "not-a-choice"),
        ("/solution/basis", "ta", "/solution/basis", "not-a-choice"),
        ("/solution/acids/0/form", "citric-anhydrous", "/solution/acids/0/form", "form-of-another-acid"),
        ("/solution/acids/0/share", 1, "/solution/acids/0/share", "not-needed"),
        ("/drink", {}, "/drink", "exactly-one"),
        ("/temperature", {"value": 60, "unit": "c"}, "/temperature/value", "out-of-range"),
    ],
)
def test_bad_input_is_named_where_it_stands(client, body, pointer, value, at, code):
    put(body, pointer, value)
    problem = client.post(PATH, json=body)
    assert problem.status_code == 422
    assert (at, code) in {(error["pointer"], error["code"]) for error in problem.json["errors"]}


@pytest.mark.parametrize("name", ["drink", "serve", "solution"])
def test_missing_fields_are_named(client, body, name):
    del body[name]
    problem = client.post(PATH, json=body)
    assert [(e["pointer"], e["code"]) for e in problem.json["errors"]] == [(f"/{name}", "required")]


def test_neither_dose_nor_target_is_told(client, body):
    del body["target"]
    assert [e["code"] for e in client.post(PATH, json=body).json["errors"]] == ["exactly-one"]


def test_a_drowned_drink_is_outside_what_is_known(client, body):
    del body["target"]
    body |= {
        "dose": {"value": 5, "unit": "l"},
        "solution": {"acids": [{"acid": "citric", "percent": 50}], "basis": "w/w"},
    }
    problem = client.post(PATH, json=body)
    assert (problem.status_code, problem.json["type"]) == (422, "/problems/outside-validity")

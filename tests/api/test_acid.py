"""Acid solutions through the API."""

from copy import deepcopy
from math import nan

import pytest

from service.api.openapi import example
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, put

PATH = "/v1/acid-solutions"
EQUIVALENTS = "/v1/acid-equivalents"
TA = {"/basis": "ta", "/target": {"value": 900, "unit": "g/l", "expressed_as": "citric"}}


@pytest.fixture
def body():
    return example("createAcidSolution")


def blend(**more):
    return {"acids": [{"acid": "lactic", "percent": 3}, {"acid": "tartaric", "percent": 3}], "basis": "w/w",
            "size": {"value": 1, "unit": "kg"}, **more}  # fmt: skip


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"/solvent_abv": 15},
        {"/coldest_storage": {"value": 35, "unit": "c"}},
        {"/acids": [{"acid": "lactic", "percent": 40}]},
        {"/solvent_abv": 40},
        {"/tolerance_percent": 2, "/potassium_mmol_per_kg": 30},
        {"/acids": [{"acid": "ascorbic", "percent": 1}, {"acid": "phosphoric", "percent": 2, "form": "phosphoric-85"}]},
        {"/size": {"value": 8, "unit": "oz"}, "/units": "us", "/labels": {"bench": "2"}},
    ],
)
def test_answers_are_what_the_document_promises(client, body, change):
    for request in (body, blend()):
        changed = deepcopy(request)
        for pointer, value in change.items():
            put(changed, pointer, value)
        answer = client.post(PATH, json=changed)
        assert answer.status_code == 200, answer.json
        conforms("createAcidSolution", answer.json)


def test_the_example_is_weighed_in_working_order(client, body):
    answer = client.post(PATH, json=body).json
    assert [line["name"] for line in answer["weigh"]] == ["water", "citric acid", "malic acid", "water"]
    assert [total["name"] for total in answer["totals"]] == ["water", "citric acid", "malic acid"]
    assert [line.get("form") for line in answer["weigh"]] == [None, "citric-monohydrate", "malic", None]
    assert answer["volume"] == {"value": pytest.approx(1000.0), "unit": "ml"}
    # by hand from molar masses: 3 protons of 40 g citric acid, 2 of 20 g malic acid
    assert answer["titratable_acidity"]["meq_per_l"] == pytest.approx(3e3 * 40 / 192.123 + 2e3 * 20 / 134.087, rel=1e-5)
    assert "haze" not in answer
    assert [one["end_point_ph"] for one in answer["titrations"]] == [8.2, 7.0]
    assert answer["keeps"] == {"value": 14 * 24 * 60, "unit": "min"}  # common practice, no source
    assert answer["scale"]["tolerance_percent"] == 1.0
    assert answer["ph"]["low"] < answer["ph"]["typical"] < answer["ph"]["high"]


def test_us_and_metric_answers_agree(client):
    metric, us = (client.post(PATH, json=blend(units=units)).json for units in ("metric", "us"))
    assert us["volume"]["unit"] == "oz"
    assert us["volume"]["value"] * 29.5735295625 == pytest.approx(metric["volume"]["value"], rel=1e-9)
    for name in ("weigh", "totals", "mass", "density_g_per_ml", "titratable_acidity", "titrations", "keeps", "scale",
                 "ph", "haze"):  # fmt: skip
        assert us[name] == metric[name]
    for ours, theirs in zip(metric["solubility"], us["solubility"], strict=True):
        assert {**theirs, "known_at": None} == {**ours, "known_at": None}
        if "known_at" in ours:
            assert theirs["known_at"]["value"] == pytest.approx(ours["known_at"]["value"] * 1.8 + 32, rel=1e-9)


def test_every_silent_field_is_an_assumption_where_it_would_be_stated(client):
    answer = client.post(PATH, json=blend()).json
    pointers = {p for assumption in answer["assumptions"] for p in assumption["pointers"]}
    assert pointers >= {"/scale", "/temperature", "/solvent_abv", "/coldest_storage", "/acids/0/form",
                        "/acids/1/purity_percent", "/tolerance_percent", "/potassium_mmol_per_kg"}  # fmt: skip


@pytest.mark.parametrize(
    "change, code",
    [
        ({"/acids/0/percent": 98}, "no-room-for-water"),
        ({"/acids/0/percent": 95}, "products-bring-too-much-water"),
        ({"/acids/0/percent": 25}, "too-strong"),
        ({"/acids": [{"acid": "succinic", "percent": 5}]}, "over-saturation"),
        ({**TA, "/acids": [{"acid": "acetic"}]}, "products-bring-too-much-water"),
        ({**TA, "/acids": [{"acid": "citric"}]}, "too-strong"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("abv", [0, 18])
def test_refusals_offer_what_works(client, change, code, abv):
    request = blend(solvent_abv=abv)
    request["acids"][0]["form"] = "lactic-80"
    for pointer, value in change.items():
        put(request, pointer, value)
    problem = client.post(PATH, json=request)
    assert problem.status_code == 422
    assert problem.mimetype == "application/problem+json"
    assert [error["code"] for error in problem.json["errors"]] == [code]
    assert any(fact["name"].startswith("most_") for fact in problem.json["facts"])
    assert "can be made" in problem.json["detail"]
    again = client.post(PATH, json=apply_nearest(request, problem.json))
    assert again.status_code == 200, again.json


@pytest.mark.parametrize(
    "pointer, value, at, code",
    [
        ("/sze", 1, "/sze", "unknown-field"),
        ("/acids/0/strength", 1, "/acids/0/strength", "unknown-field"),
        ("/size", {"value": 1, "unit": "c"}, "/size/unit", "unit"),
        ("/size", {"value": -1, "unit": "g"}, "/size/value", "out-of-range"),
        ("/size", {"value": 0.001, "unit": "g"}, "/size/value", "out-of-range"),
        ("/scale/resolution", {"value": 0, "unit": "g"}, "/scale/resolution/value", "out-of-range"),
        ("/acids/0/percent", None, "/acids/0/percent", "null"),
        ("/acids/0/percent", 101, "/acids/0/percent", "out-of-range"),
        ("/acids/0/percent", "4", "/acids/0/percent", "not-a-number"),
        ("/acids/0/purity_percent", 30, "/acids/0/purity_percent", "out-of-range"),
        ("/acids/0/form", "malic", "/acids/0/form", "form-of-another-acid"),
        ("/acids/0/acid", "hydrochloric", "/acids/0/acid", "not-a-choice"),
        ("/acids/1/acid", "citric", "/acids/1/acid", "duplicate"),
        ("/acids/1/share", 1, "/acids/1/share", "not-needed"),
        ("/acids", [], "/acids", "length"),
        ("/acids", [{"acid": "citric"}], "/acids/0/percent", "required"),
        ("/target", {"value": 900, "unit": "meq/l"}, "/target", "not-needed"),
        ("/basis", "ta", "/target", "required"),
        ("/solvent_abv", 41, "/solvent_abv", "out-of-range"),
        ("/tolerance_percent", 0, "/tolerance_percent", "out-of-range"),
        ("/potassium_mmol_per_kg", 151, "/potassium_mmol_per_kg", "out-of-range"),
        ("/temperature", {"value": 41, "unit": "c"}, "/temperature/value", "out-of-range"),
    ],
)
def test_bad_input_is_named_where_it_stands(client, body, pointer, value, at, code):
    put(body, pointer, value)
    problem = client.post(PATH, json=body)
    assert problem.status_code == 422
    assert (at, code) in {(error["pointer"], error["code"]) for error in problem.json["errors"]}


# As weighed


def card(**more):
    citric = {"acid": "citric", "form": "citric-monohydrate", "mass": {"value": 42, "unit": "g"}}
    malic = {"acid": "malic", "mass": {"value": 21, "unit": "g"}}
    return {"as_weighed": {"products": [citric, malic], "water": {"value": 0.937, "unit": "kg"}}, **more}


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"/size": {"value": 2, "unit": "qt_us"}, "/units": "us"},
        {"/as_weighed/products/1": {"acid": "tartaric", "mass": {"value": 1, "unit": "oz_av"}, "purity_percent": 99}},
        {"/scale": {"resolution": {"value": 1, "unit": "g"}}, "/coldest_storage": {"value": 20, "unit": "c"}},
        {"/tolerance_percent": 2, "/potassium_mmol_per_kg": 30, "/temperature": {"value": 5, "unit": "c"}},
    ],
)
def test_a_card_is_told_as_the_document_promises(client, change):
    request = card()
    for pointer, value in change.items():
        put(request, pointer, value)
    answer = client.post(PATH, json=request)
    assert answer.status_code == 200, answer.json
    conforms("createAcidSolution", answer.json)
    pointers = {p for said in (*answer.json["cautions"], *answer.json["assumptions"]) for p in said["pointers"]}
    assert {p.split("/")[1] for p in pointers} <= {"as_weighed", "scale", "temperature", "coldest_storage", "size",
                                                   "tolerance_percent", "potassium_mmol_per_kg"}  # fmt: skip


def test_a_card_says_what_it_is_by_hand(client):
    answer = client.post(PATH, json=card()).json
    citric_g = 42 * 192.123 / (192.123 + 18.015)  # the water of the hydrate: CRC, 18.015 g/mol
    assert answer["percent_w_w"] == [
        {"acid": "citric", "percent": pytest.approx(citric_g / 10, rel=1e-5)},
        {"acid": "malic", "percent": pytest.approx(2.1)},
    ]
    assert [line["name"] for line in answer["weigh"]] == ["water", "citric acid", "malic acid", "water"]
    assert {one["name"]: one["mass"]["value"] for one in answer["totals"]} == pytest.approx(
        {"water": 937.0, "citric acid": 42.0, "malic acid": 21.0}
    )
    meq_per_kg = 3000 * citric_g / 192.123 + 2000 * 21 / 134.087
    assert answer["titratable_acidity"]["meq_per_l"] == pytest.approx(meq_per_kg * answer["density_g_per_ml"], rel=1e-5)
    assert answer["mass"]["value"] == pytest.approx(1000.0)
    assert answer["volume"]["value"] == pytest.approx(1000.0 / answer["density_g_per_ml"], rel=1e-9)


def test_the_same_card_in_another_size(client):
    once, more = client.post(PATH, json=card()).json, client.post(PATH, json=card(size={"value": 5, "unit": "kg"})).json
    assert [one["mass"]["value"] for one in more["totals"]] == pytest.approx(
        [5 * one["mass"]["value"] for one in once["totals"]]
    )
    for name in ("percent_w_w", "density_g_per_ml", "titratable_acidity", "ph"):
        assert more[name] == once[name]


@pytest.mark.parametrize(
    "change, at, code",
    [
        ({"/acids": [{"acid": "citric", "percent": 4}]}, "/acids", "exactly-one"),
        ({"/basis": "w/w"}, "/basis", "exactly-one"),
        ({"/target": {"value": 900, "unit": "meq/l"}}, "/target", "not-needed"),
        ({"/basis": "ta"}, "/basis", "exactly-one"),
        ({"/solvent_abv": 20}, "/solvent_abv", "not-needed"),
        ({"/as_weighed": None}, "/as_weighed", "null"),
        ({"/as_weighed": []}, "/as_weighed", "not-an-object"),
        ({"/as_weighed": {"products": []}}, "/as_weighed/water", "required"),
        ({"/as_weighed/products": []}, "/as_weighed/products", "length"),
        ({"/as_weighed/water": {"value": 1, "unit": "l"}}, "/as_weighed/water/unit", "unit"),
        ({"/as_weighed/water/value": -1}, "/as_weighed/water/value", "out-of-range"),
        ({"/as_weighed/products/0/mass/value": 0}, "/as_weighed/products/0/mass/value", "out-of-range"),
        ({"/as_weighed/products/0/form": "malic"}, "/as_weighed/products/0/form", "form-of-another-acid"),
        ({"/as_weighed/products/0/purity_percent": 101}, "/as_weighed/products/0/purity_percent", "out-of-range"),
        ({"/as_weighed/products/1/acid": "citric"}, "/as_weighed/products/1/acid", "duplicate"),
        ({"/as_weighed/products/1/percent": 3}, "/as_weighed/products/1/percent", "unknown-field"),
    ],
)
def test_faults_of_a_card_are_named_where_they_stand(client, change, at, code):
    request = card()
    for pointer, value in change.items():
        put(request, pointer, value)
    problem = client.post(PATH, json=request)
    assert problem.status_code == 422
    assert (at, code) in {(error["pointer"], error["code"]) for error in problem.json["errors"]}
    assert ("/target", "required") not in {(error["pointer"], error["code"]) for error in problem.json["errors"]}


def test_neither_way_names_what_is_missing_and_the_other_way(client):
    errors = client.post(PATH, json={}).json["errors"]
    assert [(e["pointer"], e["code"]) for e in errors] == [
        ("/acids", "required"),
        ("/basis", "required"),
        ("/size", "required"),
    ]
    assert all("as_weighed" in e["text"] for e in errors)


@pytest.mark.parametrize(
    "products, water, at, code",
    [
        ([("citric", 400)], 0, "/as_weighed/products", "no-room-for-water"),
        ([("citric", 300), ("malic", 300)], 400, "/as_weighed/products", "too-strong"),
        ([("lactic", 400)], 10, "/as_weighed/products", "too-strong"),
        ([("succinic", 50)], 500, "/as_weighed/products/0/mass", "over-saturation"),
    ],
)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_card_that_cannot_be_is_offered_enough_water(client, products, water, at, code, units):
    weighed = [{"acid": acid, "mass": {"value": grams, "unit": "g"}} for acid, grams in products]
    request = {"units": units, "as_weighed": {"products": weighed, "water": {"value": water, "unit": "g"}}}
    problem = client.post(PATH, json=request)
    assert problem.status_code == 422
    assert [(e["pointer"], e["code"]) for e in problem.json["errors"]] == [(at, code)]
    assert [n["pointer"] for n in problem.json["nearest"]] == ["/as_weighed/water"]
    assert "least_water" in {fact["name"] for fact in problem.json["facts"]}
    again = client.post(PATH, json=apply_nearest(request, problem.json))
    assert again.status_code == 200, again.json


@pytest.mark.parametrize("name", ["acids", "basis", "size"])
def test_missing_fields_are_named(client, body, name):
    del body[name]
    problem = client.post(PATH, json=body)
    assert [(e["pointer"], e["code"]) for e in problem.json["errors"]] == [(f"/{name}", "required")]


def test_nan_is_not_json(client, body):
    body["acids"][0]["percent"] = nan  # Python writes it as a bare NaN
    assert client.post(PATH, json=body).status_code in (400, 422)


@pytest.mark.parametrize(
    "acids, at, code",
    [
        ([{"acid": "citric", "share": 1}, {"acid": "malic"}], "/acids/1/share", "required"),
        ([{"acid": "citric", "percent": 4}], "/acids/0/percent", "not-needed"),
        ([{"acid": "citric", "share": 1}, {"acid": "citric", "share": 2}], "/acids/1/acid", "duplicate"),
    ],
)
def test_a_target_goes_with_shares(client, acids, at, code):
    request = blend(basis="ta", acids=acids, target={"value": 900, "unit": "meq/l"})
    problem = client.post(PATH, json=request)
    assert [(e["pointer"], e["code"]) for e in problem.json["errors"]] == [(at, code)]


def test_rules_of_the_basis_are_told_beside_wrong_fields(client):
    acids = [{"acid": "citric", "percent": 3}, {"acid": "citric", "share": 1}]
    asked = {"acids": acids, "basis": "ta", "size": {"value": 1, "unit": "stone"}}
    errors = client.post(PATH, json=asked).json["errors"]
    assert {(e["pointer"], e["code"]) for e in errors} == {
        ("/target", "required"),
        ("/size/unit", "unit"),
        ("/acids/0/share", "required"),
        ("/acids/0/percent", "not-needed"),
        ("/acids/1/acid", "duplicate"),
    }


# In place of one acid


def swapped(**more):
    return {"amount": {"value": 60, "unit": "g"}, "acid": "citric", "instead": [{"acid": "malic"}], **more}


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"/form": "citric-monohydrate", "/purity_percent": 99.5},
        {"/units": "us", "/volume": {"value": 1, "unit": "qt_us"}, "/temperature": {"value": 40, "unit": "f"}},
        {"/amount": {"value": 700, "unit": "g"}, "/volume": {"value": 1, "unit": "l"}},
        {"/instead": [{"acid": "acetic"}]},
    ],
)
@pytest.mark.parametrize("like", [None, "lemon", "lime", "grapefruit", "sparkling-wine"])
def test_equivalents_are_what_the_document_promises(client, change, like):
    request = swapped()
    for pointer, value in change.items():
        put(request, pointer, value)
    if like is not None:
        del request["instead"]
        request["like"] = like
    answer = client.post(EQUIVALENTS, json=request)
    if answer.status_code == 422:  # 700 g in a litre of a blend has no known density
        assert answer.json["errors"][0]["pointer"] == "/volume"
        answer = client.post(EQUIVALENTS, json=apply_nearest(request, answer.json))
    assert answer.status_code == 200, answer.json
    conforms("createAcidEquivalents", answer.json)
    assert ("like" in answer.json) == (like is not None)
    pointers = {p for said in (*answer.json["cautions"], *answer.json["assumptions"]) for p in said["pointers"]}
    assert {p.split("/")[1] for p in pointers} <= {"acid", "form", "purity_percent", "temperature", "volume",
                                                   "like" if like else "instead"}  # fmt: skip


def test_the_example_swaps_malic_for_citric_and_lactic(client):
    answer = client.post(EQUIVALENTS, json=example("createAcidEquivalents")).json
    conforms("createAcidEquivalents", answer)
    # by hand: 20 g of malic acid, 2 protons, 134.087 g/mol
    meq = 2000 * 20 / 134.087
    assert answer["meq"] == pytest.approx(meq, rel=1e-5)
    blend_g = meq / (2000 / 3 * 3 / 192.123 + 1000 / 3 / 90.078)
    citric, lactic = answer["use"]
    assert citric["form"] == "citric-monohydrate"
    assert citric["mass"]["value"] == pytest.approx(2 / 3 * blend_g / 0.91427, rel=1e-5)
    assert lactic["mass"]["value"] == pytest.approx(blend_g / 3 / 0.80, rel=1e-5)
    assert answer["titratable_acidity"]["meq_per_l"] == pytest.approx(meq, rel=1e-5)
    assert answer["before"]["ph"]["typical"] >= answer["ph"]["typical"]  # pK1 3.46 against 3.13
    assert [one["acid"] for one in answer["alone"]] == ["citric", "lactic"]
    assert any(caution["code"] == "equal-acidity-is-not-equal-sourness" for caution in answer["cautions"])


def test_a_strength_without_a_ph_says_so(client):
    request = swapped(amount={"value": 430, "unit": "g"}, volume={"value": 1, "unit": "l"})
    answer = client.post(EQUIVALENTS, json=request).json
    assert "ph" not in answer
    assert any(caution["code"] == "ph-not-known" for caution in answer["cautions"])


@pytest.mark.parametrize(
    "change, code",
    [
        ({"/instead": [{"acid": "succinic"}]}, "over-saturation"),
        ({"/instead": [{"acid": "acetic"}]}, "products-bring-too-much-water"),
        ({"/amount": {"value": 2, "unit": "kg"}}, "too-strong"),
        ({"/amount": {"value": 2, "unit": "kg"}, "/units": "us"}, "too-strong"),
    ],
)
def test_a_volume_too_small_is_refused_with_one_that_is_enough(client, change, code):
    request = swapped(amount={"value": 100, "unit": "g"}, volume={"value": 1, "unit": "l"})
    for pointer, value in change.items():
        put(request, pointer, value)
    problem = client.post(EQUIVALENTS, json=request)
    assert problem.status_code == 422
    assert [(e["pointer"], e["code"]) for e in problem.json["errors"]] == [("/volume", code)]
    assert "smallest_volume" in {fact["name"] for fact in problem.json["facts"]}
    again = client.post(EQUIVALENTS, json=apply_nearest(request, problem.json))
    assert again.status_code == 200, again.json


@pytest.mark.parametrize(
    "change, at, code",
    [
        ({"/form": "malic"}, "/form", "form-of-another-acid"),
        ({"/instead/0/form": "tartaric"}, "/instead/0/form", "form-of-another-acid"),
        ({"/instead/0/percent": 5}, "/instead/0/percent", "not-needed"),
        ({"/instead": [{"acid": "malic", "share": 1}, {"acid": "lactic"}]}, "/instead/1/share", "required"),
        ({"/instead": [{"acid": "malic", "share": 1}] * 2}, "/instead/1/acid", "duplicate"),
        ({"/instead": []}, "/instead", "length"),
        ({"/like": "lime"}, "/instead", "exactly-one"),
        ({"/amount": {"value": 1, "unit": "ml"}}, "/amount/unit", "unit"),
        ({"/amount": {"value": 0, "unit": "g"}}, "/amount/value", "out-of-range"),
        ({"/acid": "oxalic"}, "/acid", "not-a-choice"),
        ({"/purity_percent": 101}, "/purity_percent", "out-of-range"),
        ({"/volume": {"value": 0, "unit": "l"}}, "/volume/value", "out-of-range"),
        ({"/basis": "ta"}, "/basis", "unknown-field"),
    ],
)
def test_bad_swaps_are_named_where_they_stand(client, change, at, code):
    request = swapped()
    for pointer, value in change.items():
        put(request, pointer, value)
    problem = client.post(EQUIVALENTS, json=request)
    assert problem.status_code == 422
    assert (at, code) in {(error["pointer"], error["code"]) for error in problem.json["errors"]}


def test_a_swap_needs_something_instead(client):
    request = swapped()
    del request["instead"]
    problem = client.post(EQUIVALENTS, json=request)
    assert [(e["pointer"], e["code"]) for e in problem.json["errors"]] == [("/instead", "exactly-one")]

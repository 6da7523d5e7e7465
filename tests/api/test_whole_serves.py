"""Sizes in whole serves on the wire: batches, lists, prep sheets and rollouts."""

from copy import deepcopy

import pytest

from service.api.openapi import example
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest

SPEC = {
    "name": "Tall glass of 185 ml, invented",
    "components": [{"name": "Filtered water", "amount": {"value": 184, "unit": "ml"}, "reference": "water"},
                   {"name": "Saline", "amount": {"value": 1, "unit": "ml"}, "salt": {"value": 9, "unit": "g/l"}}],
}  # fmt: skip
SHIFT = {"serves_per_hour": 12, "lasts": {"value": 5, "unit": "h"}}


def batch(client, size, **more):
    return client.post("/v1/batches", json={"spec": SPEC, "size": size, **more})


@pytest.fixture
def sheet():
    """The demo at a level that any bottle stands filled to the line."""
    body = example("createPrepSheet")
    body["carbonation"]["target"] = {"value": 5, "unit": "g/l"}
    return body


def post(client, body):
    return client.post("/v1/prep-sheets", json=body)


@pytest.mark.parametrize("count, bottles, litres", [(60, 15, 12), (500, 125, 100)])
def test_sixty_are_fifteen_bottles(client, count, bottles, litres):
    """800 ml = 4 x 185 + 60."""
    answer = batch(client, {"whole_serves": {"count": count}}).get_json()
    conforms("createBatch", answer)
    assert (answer["serves"], answer["whole_serves"]) == (count, count)
    assert [fill["count"] for fill in answer["fills"]] == [bottles]
    assert answer["totals"]["volume"]["value"] == pytest.approx(1000.0 * litres)
    assert answer["heel"]["value"] == pytest.approx(60.0, abs=0.1)  # saline and water may contract by so much
    us = batch(client, {"whole_serves": {"count": count}}, units="us").get_json()
    assert us["heel"] == {"value": pytest.approx(answer["heel"]["value"] / 29.5735295625), "unit": "oz"}


@pytest.mark.parametrize(
    "size, pointer, code",
    [
        ({"count": 0}, "/size/whole_serves/count", "out-of-range"),
        ({"count": 100_001}, "/size/whole_serves/count", "out-of-range"),
        ({"count": 1.5}, "/size/whole_serves/count", "not-an-integer"),
        ({}, "/size/whole_serves/count", "required"),
        ({"count": 6, "each": 2}, "/size/whole_serves/each", "unknown-field"),
        ({"count": 6, "fill": 1.2}, "/size/whole_serves/fill", "out-of-range"),
    ],
)
def test_bad_fields_are_named(client, size, pointer, code):
    answer = batch(client, {"whole_serves": size})
    assert answer.status_code == 422
    assert [(e["pointer"], e["code"]) for e in answer.get_json()["errors"]] == [(pointer, code)]


SMALL = {"material": "pet", "capacity": {"value": 150, "unit": "ml"}, "made_for_carbonation": True}


@pytest.mark.parametrize(
    "size, pointer",
    [
        ({"count": 6, "fill": 0.1}, "/size/whole_serves/vessel/capacity"),
        ({"count": 6, "fill": 0.99}, "/size/whole_serves/fill"),
    ],
)
def test_what_a_refusal_offers_works(client, size, pointer):
    body = {"spec": SPEC, "size": {"whole_serves": size}}
    refused = client.post("/v1/batches", json=body)
    assert refused.status_code == 422
    assert pointer in [error["pointer"] for error in refused.get_json()["errors"]]
    assert client.post("/v1/batches", json=apply_nearest(body, refused.get_json())).status_code == 200


GLASS = {"material": "glass", "capacity": {"value": 1, "unit": "l"}}


@pytest.mark.parametrize("vessel, code", [(SMALL, "under-one-serve"), (GLASS, "glass")], ids=["small", "glass"])
def test_a_vessel_that_is_refused_is_not_replaced_by_another(client, vessel, code):
    refused = batch(client, {"whole_serves": {"count": 6, "vessel": vessel}})
    assert refused.status_code == 422
    (error,) = refused.get_json()["errors"]
    assert (error["pointer"].rpartition("/")[0], error["code"]) == ("/size/whole_serves/vessel", code)
    assert not {"nearest", "offers"} & refused.get_json().keys()


def test_a_list_takes_the_same_size(client):
    sizes = {"fits": {"count": 60}, "small": {"count": 60, "vessel": SMALL}}
    items = [{"id": name, "request": {"spec": SPEC, "size": {"whole_serves": one}}} for name, one in sizes.items()]
    fits, small = client.post("/v1/batch-lists", json={"items": items}).get_json()["items"]
    assert (fits["result"]["fills"][0]["count"], fits["result"]["whole_serves"]) == (15, 60)
    assert small["problem"]["errors"][0]["pointer"] == "/size/whole_serves/vessel/capacity"
    assert small["problem"]["errors"][0]["text"].startswith("Take a larger vessel")


# Prep sheets


def test_a_sheet_fills_its_own_vessel(client, sheet):
    """Two glasses of about 185 ml to half a litre at 0.8: 400 = 2 x 185 + 30."""
    sheet |= {"size": {"whole_serves": {"count": 60}}, "vessel": {"preset": "pet-500-ml"}}
    answer = post(client, sheet).get_json()
    conforms("createPrepSheet", answer)
    assert (answer["whole_serves"], answer["fill"]["count"]) == (60, 30)
    assert answer["fill"]["liquid"]["value"] == pytest.approx(400.0)
    serve = answer["batch"]["per_serve"]["volume"]["value"]
    assert answer["heel"]["value"] == pytest.approx(400.0 - 2 * serve)
    assert (answer["batch"]["serves"], answer["batch"]["whole_serves"]) == (60, 60)


@pytest.mark.parametrize("name", ["vessel", "fill"])
def test_a_sheet_has_one_vessel_and_one_fill(client, sheet, name):
    value = {"preset": "pet-2-l"} if name == "vessel" else 0.7
    sheet["size"] = {"whole_serves": {"count": 60, name: value}}
    (error,) = post(client, sheet).get_json()["errors"]
    assert (error["pointer"], error["code"]) == (f"/size/whole_serves/{name}", "described-twice")


def test_without_a_size_it_is_the_whole_serves_of_the_shift(client, sheet):
    """12 an hour for 5 h are 60 serves, fifteen bottles of four; shown as an assumption."""
    sheet.pop("size")
    sheet["shift"] |= SHIFT
    answer = post(client, sheet).get_json()
    assert (answer["whole_serves"], answer["fill"]["count"]) == (60, 15)
    (assumed,) = (one for one in answer["assumptions"] if one["name"] == "whole serves")
    assert (assumed["quantity"], assumed["pointers"], assumed["basis"]) == ({"value": 60.0}, ["/size"], "default")
    stated = post(client, {**sheet, "size": {"whole_serves": {"count": 60}}}).get_json()
    assert stated["batch"] == answer["batch"]
    assert "whole serves" not in {one["name"] for one in stated["assumptions"]}


@pytest.mark.parametrize("gone", ["shift", "lasts", "serves_per_hour"])
def test_without_either_the_fault_names_both(client, sheet, gone):
    sheet.pop("size")
    sheet.pop(gone) if gone == "shift" else sheet["shift"].pop(gone)
    errors = {e["pointer"]: e for e in post(client, sheet).get_json()["errors"]}
    fault = errors.pop("/size")
    assert fault["code"] == "required"
    assert "State a size" in fault["text"]
    assert "serves_per_hour" in fault["text"]
    assert "lasts" in fault["text"]
    assert errors.keys() <= {"/shift/serves_per_hour"}


def test_serves_by_volume_alone_are_told_of(client, sheet):
    """60 glasses of about 185 ml go into 14 bottles of 793 ml, which pour 56 whole ones and keep 53 ml each."""
    sheet["size"] = {"serves": 60}
    answer = post(client, sheet).get_json()
    assert (answer["whole_serves"], answer["fill"]["count"]) == (56, 14)
    assert answer["heel"]["value"] == pytest.approx(53.0, abs=0.5)
    (caution,) = (one for one in answer["cautions"] if one["code"] == "heels")
    assert {p["name"]: p.get("value") for p in caution["params"]} == {
        "whole": 56.0, "serves": 60.0, "heel": answer["heel"]["value"]
    }  # fmt: skip
    whole = post(client, {**sheet, "size": {"whole_serves": {"count": 60}}}).get_json()
    assert "heels" not in {one["code"] for one in whole["cautions"]}


def test_a_refused_vessel_is_named_where_the_sheet_has_it(client, sheet):
    sheet |= {"size": {"whole_serves": {"count": 60}}, "vessel": {"preset": "pet-1-l", "condition": "dropped"}}
    refused = post(client, sheet).get_json()
    assert [error["pointer"] for error in refused["errors"]] == ["/vessel/condition"]


def test_a_serve_that_no_such_vessel_holds_is_refused_on_the_sheet(client, sheet):
    sheet |= {"size": {"whole_serves": {"count": 60}}, "vessel": SMALL}
    refused = post(client, sheet).get_json()
    assert "/vessel/capacity" in [error["pointer"] for error in refused["errors"]]


def test_the_age_of_a_bottle_is_judged_once(client, sheet):
    sheet |= {"size": {"whole_serves": {"count": 60}}}
    sheet["vessel"] |= {"first_used": "2026-11-01"}
    assert "age-not-judged" not in {one["code"] for one in post(client, sheet).get_json()["cautions"]}


# Rollouts


def test_a_rollout_fills_the_vessels_of_the_standards_whole_serves(client):
    """Where a venue names none of its own: 60 glasses, two to each half litre at 0.8."""
    body = deepcopy(example("createRollout"))
    body["standard"]["size"] = {"whole_serves": {"count": 60, "vessel": {"preset": "pet-500-ml"}, "fill": 0.8}}
    body["standard"]["carbonation"]["target"] = {"value": 5, "unit": "g/l"}
    for site in body["sites"][1:]:
        site.pop("vessels", None)
    answer = client.post("/v1/rollouts", json=body).get_json()
    conforms("createRollout", answer)
    assert [site["status"] for site in answer["sites"]] == ["ok", "ok", "ok"]
    assert [(site["fills"][0]["vessel"], site["fills"][0]["count"]) for site in answer["sites"][1:]] == [
        ("pet-500-ml", 30), ("pet-500-ml", 30)
    ]  # fmt: skip
    assert answer["sites"][0]["fills"][0]["vessel"] != "pet-500-ml"  # it has vessels of its own


def test_a_vessel_that_a_rollout_refuses_is_named(client):
    body = deepcopy(example("createRollout"))
    body["standard"]["size"] = {"whole_serves": {"count": 60, "vessel": GLASS}}
    body["sites"] = [{**body["sites"][0]}]
    body["sites"][0].pop("vessels", None)
    answer = client.post("/v1/rollouts", json=body).get_json()
    (site,) = answer["sites"]
    pointers = [error["pointer"] for error in site["problem"]["errors"]]
    assert "/standard/size/whole_serves/vessel/material" in pointers
    assert all(pointer.startswith("/standard/") for pointer in pointers)

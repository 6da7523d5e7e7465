"""Components of a spec and all that they may state, through the API."""

from copy import deepcopy

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest, put
from tests.api.test_fuzz import check, leaves, mutated, numbers, paths, words

PATH = "/v1/batches"


def ml(value):
    return {"value": value, "unit": "ml"}


CORDIAL = {
    "name": "rhubarb cordial, invented",
    "components": [
        {"name": "rhubarb juice", "amount": {"value": 300, "unit": "g"}, "abv": 0,
         "sugar": {"value": 10, "unit": "g/l"}, "acidity": {"value": 12, "unit": "g/l", "expressed_as": "citric"},
         "yield_percent": 45, "clarity": "pulpy",
         "keeps": {"value": 4, "unit": "d"}, "allergens": [], "stock_code": "QL-31", "stock_unit": "kg"},
        {"name": "syrup", "amount": ml(250), "syrup": {"sugar_to_water": 2, "by": "mass"}, "allergens": []},
        {"name": "acids", "amount": ml(20),
         "acid_solution": {"basis": "w/v", "acids": [{"acid": "malic", "percent": 40}]}},
    ],
}  # fmt: skip
FIZZ = {
    "name": "rhubarb and verjus fizz, invented",
    "components": [
        {"name": "gin", "amount": ml(40), "reference": "spirit-40", "abv": 41.5, "stock_code": "QL-30",
         "stock_unit": "cl"},
        {"name": "cordial", "amount": ml(25), "made_from": CORDIAL, "yield_percent": 80, "finings": ["milk-washing"],
         "clarity": "clear"},
        {"name": "vermouth", "amount": ml(15), "reference": "aromatised-wine-dry"},
        {"name": "water", "amount": ml(90), "reference": "water"},
    ],
}  # fmt: skip
BODY = {
    "spec": FIZZ,
    "size": {"serves": 40},
    "made_at": "2026-11-28T14:00:00+01:00",
    "prices": [
        {
            "component": "gin",
            "content": {"value": 70, "unit": "cl"},
            "price": {"amount": "21.00", "currency": "EUR"},
        },
        {
            "component": "rhubarb juice",
            "content": {"value": 1, "unit": "kg"},
            "price": {"amount": "4.00", "currency": "EUR"},
        },
    ],
    "against": {
        "name": "fizz before, invented",
        "components": [{"name": "gin", "amount": ml(45), "abv": 40}, FIZZ["components"][3]],
    },
}


def changed(change):
    new = deepcopy(BODY)
    for pointer, value in change.items():
        put(new, pointer, value)
    return new


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_answer_is_what_the_document_promises(client, units):
    answer = client.post(PATH, json=BODY | {"units": units})
    assert answer.status_code == 200, answer.json
    conforms("createBatch", answer.json)


def test_the_inner_spec_by_hand(client):
    """Rhubarb juice is 300 g of all that is mixed; a quarter more is mixed than is kept, and 100/45 of it is fruit."""
    answer = client.post(PATH, json=BODY).json
    cordial = answer["components"][1]
    mixed_g = sum(part["mass"]["value"] for part in cordial["made_of"])
    assert mixed_g == pytest.approx(cordial["mass"]["value"] * 1.25)
    assert cordial["start_from"]["value"] == pytest.approx(mixed_g)
    juice = cordial["made_of"][0]
    assert juice["start_from"]["value"] == pytest.approx(juice["mass"]["value"] / 0.45)
    (fruit,) = [line for line in answer["shopping"] if line["component"] == "rhubarb juice"]
    assert fruit["amount"] == juice["start_from"]
    per_batch = {line["stock_code"]: line["per_batch"] for line in answer["depletion"]}
    assert per_batch["QL-30"] == {"value": pytest.approx(160.0), "unit": "cl"}
    assert per_batch["QL-31"] == {"value": pytest.approx(fruit["amount"]["value"] / 1000.0), "unit": "kg"}


def test_allergens_by_both_lists_and_by_component(client):
    answer = client.post(PATH, json=BODY).json
    assert (answer["allergens"], answer["allergens_us"]) == (["milk", "sulphites"], ["milk"])
    assert answer["allergen_sources"] == [
        {"allergen": "milk", "components": ["cordial"]},
        {"allergen": "sulphites", "components": ["vermouth"]},
    ]
    assert answer["label"]["statement"] == "In-house, not for sale."
    assert answer["label"]["use_by"] == answer["use_by"] == "2026-12-02T14:00:00+01:00"


def test_differences_are_sentences_with_both_sides(client):
    answer = client.post(PATH, json=BODY).json
    found = {(d["code"], d.get("component")): d for d in answer["differences"]}
    gin = found["amount-differs", "gin"]
    assert gin["text"] == "gin: 40 ml here, 45 ml in the standard."
    assert (gin["here"], gin["standard"]) == (ml(40.0), ml(45.0))
    assert found["component-added", "cordial"]["here"] == ml(25.0)
    assert "standard" not in found["component-added", "cordial"]
    assert found["cost-differs", None]["standard"]["money"] == {"amount": "1.35", "currency": "EUR"}
    assert {"abv-differs", "sugar-differs", "acidity-differs", "volume-differs"} <= {code for code, _ in found}


def test_what_a_reference_fills_in_is_not_of_the_spec_id(client):
    """Two specs that come to one drink are two specs."""
    stated = deepcopy(BODY)
    stated["spec"]["components"][3] = {
        "name": "water",
        "amount": ml(90),
        "abv": 0,
        "sugar": {"value": 0, "unit": "g/l"},
    }
    centilitres = changed({"/spec/components/3/amount": {"value": 9, "unit": "cl"}})
    one, other, third = (client.post(PATH, json=b).json for b in (BODY, stated, centilitres))
    assert one["totals"] == other["totals"] == third["totals"]
    assert len({one["spec_id"], other["spec_id"], third["spec_id"]}) == 3


INNER = "/spec/components/1/made_from/components"


@pytest.mark.parametrize(
    "change, pointer, code",
    [
        ({f"{INNER}/0/made_from": CORDIAL}, f"{INNER}/0/made_from", "nested-too-deep"),
        ({f"{INNER}/0/nonsense": 1}, f"{INNER}/0/nonsense", "unknown-field"),
        ({f"{INNER}/1/name": "rhubarb juice"}, f"{INNER}/1/name", "duplicate"),
        ({f"{INNER}/0/yield_percent": 0}, f"{INNER}/0/yield_percent", "out-of-range"),
        ({"/spec/components/1/abv": 4}, "/spec/components/1/made_from", "described-twice"),
        ({"/spec/components/1/reference": "water"}, "/spec/components/1/made_from", "described-twice"),
        ({f"{INNER}/2/reference": "water"}, f"{INNER}/2/acid_solution", "described-twice"),
        ({f"{INNER}/1/reference": "simple-syrup-1-1"}, f"{INNER}/1/syrup", "described-twice"),
        ({"/spec/components/0/reference": "spirit-41"}, "/spec/components/0/reference", "unknown-reference"),
        ({"/spec/components/0/reference": 40}, "/spec/components/0/reference", "unknown-reference"),
        ({"/spec/components/0/allergens": ["lactose"]}, "/spec/components/0/allergens/0", "not-a-choice"),
        ({"/spec/components/1/finings": ["sturgeon"]}, "/spec/components/1/finings/0", "not-a-choice"),
        ({"/against/components/0/amount": ml(0)}, "/against/components/0/amount/value", "out-of-range"),
        ({"/against/serves": 3}, "/against/serves", "unknown-field"),
    ],
)
def test_bad_fields_are_named(client, change, pointer, code):
    refused = client.post(PATH, json=changed(change))
    assert refused.json["type"] == "/problems/invalid-request", refused.json
    assert [(e["pointer"], e["code"]) for e in refused.json["errors"]] == [(pointer, code)]


def test_an_unknown_reference_gets_those_near_it(client):
    (error,) = client.post(PATH, json=changed({"/spec/components/0/reference": "spirit-41"})).json["errors"]
    assert "spirit-40" in error["text"]


def test_specs_within_are_bounded_together(client):
    components = [
        {
            "name": f"mix {i}",
            "amount": ml(5),
            "made_from": {"name": "m", "components": [{"name": f"{j}", "amount": ml(1)} for j in range(21)]},
        }
        for i in range(2)
    ]
    refused = client.post(PATH, json={"spec": {"name": "n", "components": components}, "size": {"serves": 1}})
    assert [(e["pointer"], e["code"]) for e in refused.json["errors"]] == [("/spec/components", "too-many-components")]


@pytest.mark.parametrize(
    "change, pointer",
    [
        ({f"{INNER}/0/density_g_per_ml": 1.4}, f"{INNER}/0/density_g_per_ml"),
        ({"/against/components/0/density_g_per_ml": 1.4}, "/against/components/0/density_g_per_ml"),
        ({"/prices/1/component": "rhubarb jus"}, "/prices/1/component"),
        ({"/dilution": {"to_abv": 12}}, "/dilution/to_abv"),
    ],
)
def test_what_a_refusal_offers_works(client, change, pointer):
    asked = changed(change)
    refused = client.post(PATH, json=asked)
    assert refused.status_code == 422
    assert pointer in [error["pointer"] for error in refused.json["errors"]]
    again = client.post(PATH, json=apply_nearest(asked, refused.json))
    assert again.status_code == 200, (refused.json, again.json)


@pytest.mark.parametrize(
    "path", ["/v1/carbonation/set-points", "/v1/chilling", "/v1/prep-sheets", "/v1/carbonation/charges"]
)
def test_every_operation_takes_such_a_spec(client, path):
    from service.api.app import OPERATIONS
    from service.api.openapi import example

    (operation,) = [o for o in OPERATIONS if o.path == path]
    body = example(operation.operation_id)
    if "drink" in body:
        body["drink"] = {"spec": FIZZ}
    else:
        body["spec"] = FIZZ
        body.pop("prices", None)
        body["carbonation"]["target"] = {"value": 5, "unit": "g/l"}
    answer = client.post(path, json=body)
    assert answer.status_code == 200, answer.json
    conforms(operation.operation_id, answer.json)


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_with_something_changed(client, data):
    body = deepcopy(BODY)
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(paths(body)))
        change = data.draw(numbers | words | leaves | st.just("delete") | st.sampled_from(["honey", FIZZ, CORDIAL, []]))
        body = mutated(body, path, change)
    check(client, PATH, body)

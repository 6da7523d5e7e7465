"""Components whose strength nobody stated, in every operation: one caution in an answer, with all of their places."""

from copy import deepcopy
from typing import Any

import pytest

from service.api.app import OPERATIONS
from service.api.openapi import example
from tests.api.conforms import conforms

GIN = {"name": "Gin", "amount": {"value": 45, "unit": "ml"}, "abv": 40, "allergens": []}
CORDIAL = {
    "name": "Verbena cordial",
    "amount": {"value": 20, "unit": "ml"},
    "sugar": {"value": 600, "unit": "g/l"},
    "acidity": {"value": 40, "unit": "g/l", "expressed_as": "citric"},
    "ph": 2.9,
    "allergens": [],
}
TEA = {"name": "Green tea", "amount": {"value": 10, "unit": "ml"}, "ph": 6, "allergens": []}
SODA = {"name": "Soda water", "amount": {"value": 110, "unit": "ml"}, "allergens": []}
SPEC = {"name": "Verbena highball", "components": [GIN, CORDIAL, TEA, SODA]}
STATED = {"name": "Verbena highball", "components": [GIN, CORDIAL | {"abv": 0}, TEA | {"abv": 0}, SODA]}
WITHOUT = ("createAcidSolution", "createAcidAdjustment", "createAcidEquivalents", "createSpecCheck", "createSpecSheet")
WITH_DRINKS = [o for o in OPERATIONS if o.operation_id not in WITHOUT]


def with_drink(node: Any, spec: Any, at: str = "") -> tuple[Any, list[str]]:
    """A request with the spec wherever it names a drink, and the JSON Pointers of the specs."""
    if isinstance(node, list):
        found = [with_drink(inner, spec, f"{at}/{i}") for i, inner in enumerate(node)]
        return [inner for inner, _ in found], [pointer for _, places in found for pointer in places]
    if not isinstance(node, dict):
        return node, []
    made, places = {}, []
    for key, inner in node.items():
        if key in ("spec", "against"):
            made[key] = deepcopy(spec)
            places.append(f"{at}/{key}")
        elif key == "drink":
            made[key] = {"spec": deepcopy(spec)}
            places.append(f"{at}/drink/spec")
        else:
            made[key], inside = with_drink(inner, spec, f"{at}/{key}")
            places += inside
    return made, places


def plain(request: Any) -> Any:
    """Without what names components of the example's own drink."""
    if isinstance(request, list):
        return [plain(one) for one in request]
    if isinstance(request, dict):
        return {
            k: plain(v) for k, v in request.items() if k not in ("prices", "on_hand", "limited_by", "selling_price")
        }
    return request


def asked(operation_id: str, spec: Any) -> tuple[Any, list[str]]:
    request = plain(example(operation_id))
    if operation_id == "createBatch":
        request |= {"against": {}, "size": {"serves": 4}}
    if operation_id == "createBatchList":
        request["items"] = [{"id": "a", "request": {"spec": {}, "size": {"serves": 4}}}]
    return with_drink(request, spec)


def cautions(answer: Any) -> list[Any]:
    """All cautions of an answer, those of its items and venues too."""
    if isinstance(answer, list):
        return [one for inner in answer for one in cautions(inner)]
    if not isinstance(answer, dict):
        return []
    return answer.get("cautions", []) + [one for k, v in answer.items() if k != "cautions" for one in cautions(v)]


@pytest.mark.parametrize("operation", WITH_DRINKS, ids=lambda o: o.operation_id)
def test_one_caution_has_all_the_places(client, operation):
    request, places = asked(operation.operation_id, SPEC)
    answer = client.post(operation.path, json=request)
    assert answer.status_code == 200, answer.json
    conforms(operation.operation_id, answer.json)
    if operation.operation_id == "createBatchList":
        places = ["/spec"]
    (caution,) = (one for one in cautions(answer.json) if one["code"] == "counts-as-water")
    assert places
    assert sorted(caution["pointers"]) == sorted(f"{at}/components/{i}/abv" for at in places for i in (1, 2))
    assert "Verbena cordial, Green tea" in caution["text"]
    assert "Soda water" not in caution["text"]


@pytest.mark.parametrize("operation", WITH_DRINKS, ids=lambda o: o.operation_id)
def test_what_is_stated_is_not_asked_for(client, operation):
    request, _ = asked(operation.operation_id, STATED)
    answer = client.post(operation.path, json=request)
    assert answer.status_code == 200, answer.json
    assert "counts-as-water" not in {one["code"] for one in cautions(answer.json)}


def test_a_spec_check_finds_each(client):
    answer = client.post("/v1/spec-checks", json={"items": [{"id": "a", "spec": SPEC}]}).json
    (item,) = answer["items"]
    found = [f["pointer"] for f in item["findings"] if f["code"] == "counts-as-water"]
    assert found == [f"/items/0/spec/components/{i}/abv" for i in (1, 2)]


def test_the_label_of_a_batch_gives_a_strength_or_says_whose_is_missing(client):
    labels = [client.post("/v1/batches", json={"spec": spec, "size": {"serves": 4}}).json["label"]
              for spec in (SPEC, STATED)]  # fmt: skip
    assert [label["abv_unstated"] for label in labels] == [["Verbena cordial", "Green tea"], []]
    assert ["abv" in label for label in labels] == [False, True]
    # 18 ml of alcohol in 185 ml, contraction and the room of the sugar aside
    assert labels[1]["abv"] == pytest.approx(100 * 18 / 185, abs=0.1)


def test_nothing_but_silence_says_what_to_state(client):
    """The first thing that a newcomer sends."""
    components = [{"name": name, "amount": {"value": ml, "unit": "ml"}} for name, ml in (("Gin", 45), ("Tonic", 120))]
    spec = {"name": "Gin and tonic", "components": components}
    problem = client.post("/v1/batches", json={"spec": spec, "size": {"serves": 4}})
    assert problem.status_code == 422
    (error,) = problem.json["errors"]
    assert (error["pointer"], error["code"]) == ("/spec/components", "only-water")
    assert "abv" in error["text"]
    assert "reference" in error["text"]
    reference = next(word for word in error["text"].replace(";", " ").split() if "-" in word)
    components[0]["reference"] = reference
    assert client.post("/v1/batches", json={"spec": spec, "size": {"serves": 4}}).status_code == 200

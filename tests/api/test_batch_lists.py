"""Lists of batches: each item answered or refused on its own."""

from copy import deepcopy

import pytest

from service.api.batching import MOST_TRIES
from service.api.openapi import example
from service.limits.requests import MOST_BATCH_LINES
from tests.api.conforms import conforms
from tests.api.nearest import apply_nearest

PATH = "/v1/batch-lists"
ALONE = "/v1/batches"
GLASS = {
    "spec": {"name": "long, invented", "components": [
        {"name": "spirit", "amount": {"value": 40, "unit": "ml"}, "abv": 40},
        {"name": "water", "amount": {"value": 140, "unit": "ml"}},
    ]},
    "size": {"serves": 4},
}  # fmt: skip
TOO_LITTLE = GLASS | {"size": {"volume": {"value": 50, "unit": "ml"}}}


@pytest.fixture
def body():
    return example("createBatchList")


def listed(*requests):
    return {"items": [{"id": f"no-{i}", "request": request} for i, request in enumerate(requests)]}


def test_the_example_conforms_and_each_result_is_that_of_its_request_alone(client, body):
    answer = client.post(PATH, json=body).json
    conforms("createBatchList", answer)
    assert [item["id"] for item in answer["items"]] == [item["id"] for item in body["items"]]
    for item, asked in zip(answer["items"], body["items"], strict=True):
        assert item["status"] == "ok"
        assert item["result"] == client.post(ALONE, json=asked["request"]).json


def test_a_refused_item_refuses_itself_alone(client):
    """Its offer, put into the item's request and posted again, works: alone and in the list."""
    asked = listed(GLASS, TOO_LITTLE, GLASS | {"labels": {"night": "friday"}})
    answer = client.post(PATH, json=asked)
    assert answer.status_code == 200
    conforms("createBatchList", answer.json)
    first, second, third = answer.json["items"]
    assert [item["status"] for item in (first, second, third)] == ["ok", "refused", "ok"]
    problem = second["problem"]
    assert (problem["type"], problem["status"]) == ("/problems/impossible-batch", 422)
    assert [e["pointer"] for e in problem["errors"]] == ["/size/volume"]
    alone = client.post(ALONE, json=TOO_LITTLE).json
    assert {**problem, "request_id": ""} == {**alone, "request_id": ""}
    mended = deepcopy(asked)
    mended["items"][1]["request"] = apply_nearest(TOO_LITTLE, problem)
    assert {item["status"] for item in client.post(PATH, json=mended).json["items"]} == {"ok"}
    assert third["result"]["labels"] == {"night": "friday"}


@pytest.mark.parametrize(
    "request_, pointer, code",
    [
        ({}, "/spec", "required"),
        (GLASS | {"size": {"serves": 0}}, "/size/serves", "out-of-range"),
        (GLASS | {"nonsense": 1}, "/nonsense", "unknown-field"),
        (7, "", "not-an-object"),
        ([GLASS], "", "not-an-object"),
        (GLASS | {"model": "1999.1.0"}, "/model", "model-not-available"),
    ],
)
def test_an_item_that_is_not_valid_refuses_itself_alone(client, request_, pointer, code):
    answer = client.post(PATH, json=listed(request_, GLASS))
    assert answer.status_code == 200, answer.json
    conforms("createBatchList", answer.json)
    wrong, right = answer.json["items"]
    assert (wrong["status"], right["status"]) == ("refused", "ok")
    assert (pointer, code) in [(e["pointer"], e["code"]) for e in wrong["problem"]["errors"]]


def test_units_of_the_list_are_those_of_items_that_state_none(client):
    asked = listed(GLASS, GLASS | {"units": "metric"}) | {"units": "us"}
    one, other = (item["result"]["totals"]["volume"] for item in client.post(PATH, json=asked).json["items"])
    assert (one["unit"], other["unit"]) == ("oz", "ml")
    assert client.post(ALONE, json=GLASS | {"units": "us"}).json["totals"]["volume"] == one


@pytest.mark.parametrize(
    "asked, pointer, code",
    [
        ({"items": []}, "/items", "length"),
        ({"items": [{"id": "a", "request": GLASS}] * 101}, "/items", "length"),
        ({"items": [{"id": "a", "request": GLASS}] * 2}, "/items/1/id", "duplicate"),
        ({"items": [{"id": "a"}]}, "/items/0/request", "required"),
        ({"items": [{"id": "a", "request": None}]}, "/items/0/request", "null"),
        ({"items": [{"request": GLASS}]}, "/items/0/id", "required"),
        ({"items": [{"id": 7, "request": GLASS}]}, "/items/0/id", "not-a-string"),
        ({"items": [{"id": "a", "request": GLASS, "size": 1}]}, "/items/0/size", "unknown-field"),
        ({"items": 7}, "/items", "not-a-list"),
        ({}, "/items", "required"),
    ],
)
def test_what_refuses_the_whole_list(client, asked, pointer, code):
    refused = client.post(PATH, json=asked)
    assert refused.status_code == 422, refused.json
    assert (pointer, code) in [(e["pointer"], e["code"]) for e in refused.json["errors"]]


def test_all_lines_together_are_bounded(client):
    """Components, and those of which they are made, count; so do acids, vessels, prices and what is in the house."""

    def spec_of(count, **more):
        parts = [{"name": f"{i}", "amount": {"value": 5, "unit": "ml"}, "abv": 10} for i in range(count)]
        parts[0] |= more
        return {"name": "many", "components": parts}

    inner = GLASS | {"spec": spec_of(1, made_from=spec_of(19)), "size": {"volume": {"value": 1, "unit": "l"}}}
    del inner["spec"]["components"][0]["abv"]
    most = [inner, *[GLASS | {"spec": spec_of(40)}] * ((MOST_BATCH_LINES - 20) // 40)]
    answer = client.post(PATH, json=listed(*most))
    assert answer.status_code == 200, answer.json
    assert {item["status"] for item in answer.json["items"]} == {"ok"}
    stocked = most[-1] | {"on_hand": [{"component": "0", "amount": {"value": 5, "unit": "l"}}]}
    refused = client.post(PATH, json=listed(*most[:-1], stocked))
    assert [(e["pointer"], e["code"]) for e in refused.json["errors"]] == [("/items", "too-many-lines")]


def test_offers_are_tried_so_often_and_no_oftener(client):
    """Each of these takes one try; a refusal after the last says what is wrong, and offers nothing."""
    items = client.post(PATH, json=listed(*[TOO_LITTLE] * (MOST_TRIES + 3))).json["items"]
    assert ["nearest" in item["problem"] for item in items] == [True] * MOST_TRIES + [False] * 3
    assert {item["problem"]["detail"] for item in items} == {items[0]["problem"]["detail"]}

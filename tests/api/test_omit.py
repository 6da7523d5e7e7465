"""Less on demand: the lists that `?omit=` sends empty, what stays in them, and that nothing else changes."""

import json
from collections.abc import Iterator
from typing import Any

import pytest

from service.api.app import OPERATIONS
from service.api.endpoint.omission import BEHIND_A_LIMIT, OMITTED
from service.api.openapi import example
from service.api.openapi.paths import FOLDER, examples
from service.codes import codes
from tests.api.conforms import conforms
from tests.asking import as_sent

ALL = ",".join(OMITTED)
EXAMPLES = [
    pytest.param(operation, one["value"], id=f"{operation.operation_id} {name}")
    for operation in OPERATIONS
    for name, one in examples(operation.operation_id).items()
]


def differences(full: Any, less: Any, at: str = "") -> Iterator[tuple[str, Any, Any]]:
    """Where two answers differ: a pointer with what stands there in either; lists of unequal length are one place."""
    if isinstance(full, dict) and isinstance(less, dict) and full.keys() == less.keys():
        for name in full:
            yield from differences(full[name], less[name], f"{at}/{name}")
    elif isinstance(full, list) and isinstance(less, list) and len(full) == len(less):
        for i, (one, other) in enumerate(zip(full, less, strict=True)):
            yield from differences(one, other, f"{at}/{i}")
    elif full != less:
        yield at, full, less


def must_stay(name: str, one: dict[str, Any]) -> bool:
    if name == "cautions":
        return one["severity"] == "danger" or one["code"] == "no-room-for-error"
    return one["code"] in BEHIND_A_LIMIT


@pytest.mark.parametrize("names", [*OMITTED, "assumptions,cautions", ALL])
@pytest.mark.parametrize("operation, body", EXAMPLES)
def test_only_these_lists_are_empty_and_what_is_grave_stays(client, operation, body, names):
    full = client.post(operation.path, **as_sent(body))
    less = client.post(f"{operation.path}?omit={names}", **as_sent(body))
    assert (less.status_code, less.headers["Vary"]) == (200, full.headers["Vary"])
    conforms(operation.operation_id, less.json)
    assert len(less.data) <= len(full.data)
    for at, was, now in differences(full.json, less.json):
        name = at.rpartition("/")[2]
        assert name in names.split(","), at
        if name == "params":
            assert now == [], at
            assert "/steps/" not in at or "/cautions/" not in at
            continue
        assert "/steps/" not in at
        stayed = [one for one in was if must_stay(name, one)]
        assert now == stayed, at
    assert less.json.get("safety") == full.json.get("safety")


def heads(node: Any) -> Iterator[dict[str, Any]]:
    """Every head of an answer: of the whole, of the items of lists, of venues."""
    if isinstance(node, dict):
        if "assumptions" in node:
            yield node
        node = list(node.values())
    for one in node if isinstance(node, list) else ():
        yield from heads(one)


@pytest.mark.parametrize("operation, body", EXAMPLES)
def test_nothing_is_left_that_need_not_stay(client, operation, body):
    less = client.post(f"{operation.path}?omit={ALL}", **as_sent(body)).json
    for head in heads(less):
        for name in ("cautions", "assumptions"):
            assert all(must_stay(name, one) for one in head[name])
    assert "severity" not in json.dumps([head["assumptions"] for head in heads(less)])


def test_a_danger_keeps_its_parameters(client):
    """A bottle that was read at 7 bar and 20 °C could pass its limit: the example, warmer and higher."""
    body = example("createReading") | {"gauge_pressure": {"value": 6.4, "unit": "bar"}}
    less = client.post(f"/v1/carbonation/readings?omit={ALL}", json=body).json
    dangers = [one for one in less["cautions"] if one["severity"] == "danger"]
    assert dangers
    assert any(one["params"] for one in dangers)
    full = client.post("/v1/carbonation/readings", json=body).json
    assert dangers == [one for one in full["cautions"] if one["severity"] == "danger"]


def test_a_dial_next_to_its_limit_is_told_all_the_same(client):
    body = {
        "drink": {"composition": {"abv": 9, "sugar": {"value": 70, "unit": "g/l"}}},
        "vessel": {"preset": "pet-1-l", "condition": "sound"}, "target": {"value": 7.8, "unit": "g/l"},
        "temperature": {"value": 1, "unit": "c"}, "charge_count": 3,
    }  # fmt: skip
    full = client.post("/v1/carbonation/charges", json=body).json
    (told,) = [one for one in full["cautions"] if one["code"] == "no-room-for-error"]
    less = client.post(f"/v1/carbonation/charges?omit={ALL}", json=body).json
    assert told in less["cautions"]
    assert {"charge-limit-gauge", "closed-limit-gauge", "warmest-room"} <= {one["code"] for one in less["assumptions"]}


def test_a_refusal_is_told_whole(client):
    """Check refusals of the whole request, of one vessel and of one event."""
    refused = example("createSetPoints") | {"target": {"value": 12, "unit": "g/l"}}
    till = json.loads((FOLDER / "examples/create-regas-state--till.json").read_bytes())
    till["sales"].append({"id": "x", "at": till["now"], "drink_key": "no-such"})
    for path, body in (("/v1/carbonation/set-points", refused), ("/v1/regas/states", till)):
        full, less = client.post(path, json=body), client.post(f"{path}?omit={ALL}", json=body)
        without = {"request_id"}
        problems = [
            [{k: v for k, v in one["problem"].items() if k not in without} for one in found.json["refused_sales"]]
            if "refused_sales" in found.json
            else {k: v for k, v in found.json.items() if k not in without}
            for found in (full, less)
        ]
        assert problems[0] == problems[1]
        assert problems[0]


def test_lines_of_a_rollout_are_those_of_its_json(client):
    body = example("createRollout")
    whole = client.post(f"/v1/rollouts?omit={ALL}", json=body).json
    sent = client.post(f"/v1/rollouts?omit={ALL}&format=ndjson", json=body).data.splitlines()
    *sites, end = [json.loads(line) for line in sent]
    assert [{k: v for k, v in site.items() if k != "kind"} for site in sites] == whole["sites"]
    assert (end["cautions"], end["assumptions"]) == (whole["cautions"], whole["assumptions"])
    every = client.post("/v1/rollouts?format=ndjson", json=body).data
    assert sum(map(len, sent)) < 0.75 * len(every)


@pytest.mark.parametrize(
    "query", ["omit=assumptions,params", "omit=assumptions&omit=params", "omit=params,assumptions"]
)
def test_names_stand_apart_by_commas_or_in_parameters_of_their_own(client, query):
    """Accept lists as clients write them in a query: OpenAPI 3.1, style form, explode false and true."""
    body = example("createBatch")
    assert client.post(f"/v1/batches?{query}", json=body).json == client.post(
        "/v1/batches?omit=assumptions,params", json=body
    ).json  # fmt: skip


@pytest.mark.parametrize(
    "names", ["", "everything", "assumptions,", "assumptions,safety", "Cautions", "cautions;params"]
)
@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda one: one.operation_id)
def test_a_list_that_does_not_exist_is_refused_with_those_that_do(client, operation, names):
    answer = client.post(f"{operation.path}?omit={names}", **as_sent(example(operation.operation_id)))
    assert (answer.status_code, answer.json["type"]) == (400, "/problems/invalid-query")
    (error,) = answer.json["errors"]
    assert (error["in"], error["pointer"], error["code"]) == ("query", "/omit", "not-a-choice")
    assert error["text"] == "Must be one of: assumptions, cautions, params."


def test_a_list_stands_once(client):
    for query in ("omit=params,params", "omit=params&omit=params"):
        answer = client.post(f"/v1/batches?{query}", json=example("createBatch"))
        assert (answer.status_code, [one["code"] for one in answer.json["errors"]]) == (400, ["duplicate"])


@pytest.mark.parametrize("operation", [one for one in OPERATIONS if set(one.further_forms) - {"ndjson"}],
                         ids=lambda one: one.operation_id)  # fmt: skip
def test_a_form_that_is_no_json_leaves_nothing_out(client, operation):
    for form in set(operation.further_forms) - {"ndjson"}:
        body = as_sent(example(operation.operation_id))
        answer = client.post(f"{operation.path}?format={form}&omit=params", **body)
        assert (answer.status_code, answer.json["errors"][0]["code"]) == (400, "needs-json")


def test_a_table_has_nothing_to_leave_out(client):
    assert client.get("/v1/references/units?omit=params").status_code == 400


def test_assumptions_behind_a_limit_are_codes_of_assumptions():
    assert {one.code for one in codes() if one.kind == "assumption"} >= BEHIND_A_LIMIT


JUDGED_BY = {
    "capacity", "charge_limit", "closed_limit", "condition", "cycles", "first_used", "kept_at", "fill", "air",
    "remaining", "warmest_room", "altitude", "barometer", "gas_source", "gauge_pressure",
}  # fmt: skip
"""Fields that the pressure in a vessel is judged by: vessel, air, place and dial."""


@pytest.mark.parametrize("operation, body", [one for one in EXAMPLES if one.values[0].pressure])
def test_what_a_limit_is_judged_by_is_never_left_out(client, operation, body):
    """By the field that an assumption points to, whatever its code; air that a scale misses is no such thing."""
    full = client.post(operation.path, **as_sent(body)).json
    judged = {
        one["code"]
        for head in heads(full)
        for one in head["assumptions"]
        if any(pointer.rpartition("/")[2] in JUDGED_BY for pointer in one["pointers"])
    }
    assert judged - {"air-pushed-aside"} <= BEHIND_A_LIMIT

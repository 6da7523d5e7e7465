"""What refusals offer, wherever in an answer they stand: each is put into the request, which is then answered there."""

import json
import os
from collections.abc import Iterator
from copy import deepcopy
from random import Random
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.api.openapi.paths import examples
from tests.api.nearest import offers
from tests.asking import TAKING_JSON

CHANGED = int(os.environ.get("OFFERS", "12"))
"""Requests that are made of each example by changing something in it."""
FACTORS = (0.0, 0.01, 0.1, 0.3, 0.5, 0.8, 1.2, 1.5, 2.0, 3.0, 10.0)
AMISS: dict[str, tuple[Any, ...]] = {
    "target": ({"value": 11, "unit": "g/l"}, {"value": 8, "unit": "g/l"}, {"value": 3, "unit": "volumes"}),
    "co2": ({"value": 12, "unit": "g/l"}, {"value": 0, "unit": "g/l"}),
    "fill": (0.97, 0.9, 0.05), "temperature": ({"value": 14, "unit": "c"}, {"value": -6, "unit": "c"}),
    "altitude": ({"value": 3500, "unit": "m"},), "warmest_room": ({"value": 38, "unit": "c"},),
    "preset": ("keg-19-l", "pet-2-l", "pet-500-ml", "keg-30-l"), "air": ({"method": "none"}, {"method": "left"}),
    "method": ("none", "left", "purged"), "volume": ({"value": 3, "unit": "l"}, {"value": 2, "unit": "ml"}),
    "regulator_max": ({"value": 9, "unit": "bar"},), "charge_count": (1, 20), "environment": ("still-freezer",),
    "serves": (1, 5000), "count": (1, 40), "gauge_pressure": ({"value": 5, "unit": "bar"},), "percent": (45, 0),
    "abv": (0, 55), "sugar": ({"value": 650, "unit": "g/l"},), "agitation": ("still",), "held": ("timed",),
}  # fmt: skip
"""Field -> what is put there, so that it is refused one way or another."""
EXAMPLES = [
    pytest.param(operation, one["value"], id=f"{operation.operation_id} {name}")
    for operation in TAKING_JSON
    for name, one in examples(operation.operation_id).items()
]


def places(node: Any) -> Iterator[tuple[Any, Any]]:
    """Every object or list within, with each key or index of it."""
    for key, inner in node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ():
        yield node, key
        yield from places(inner)


def changed(body: Any, random: Random) -> Any:
    """A request with one to three of its fields or numbers changed, often within one item of a list alone."""
    body = deepcopy(body)
    for _ in range(random.randint(1, 3)):
        found = list(places(body))
        named = [(node, key) for node, key in found if key in AMISS]
        numbers = [(node, key) for node, key in found if type(node[key]) in (int, float)]
        if named and random.random() < 0.6:
            node, key = random.choice(named)
            node[key] = deepcopy(random.choice(AMISS[key]))
        elif numbers:
            node, key = random.choice(numbers)
            node[key] = type(node[key])(node[key] * random.choice(FACTORS))
    return body


def refusals(answer: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Every problem document in an answer, with the way to it; what stands within one is part of it."""
    if isinstance(answer, dict) and str(answer.get("type", "")).startswith("/problems/"):
        yield at, answer
        return
    for key, inner in (
        answer.items() if isinstance(answer, dict) else enumerate(answer) if isinstance(answer, list) else ()
    ):
        yield from refusals(inner, (*at, key))


def check_offers(client: FlaskClient, path: str, body: Any) -> int:
    """Post a request, then each that its refusals offer; return how many there were."""
    count = 0
    answer = client.post(path, json=body)
    assert answer.status_code in (200, 422)
    for at, problem in refusals(answer.get_json()):
        if "nearest" not in problem:
            assert "offers" not in problem
            continue
        for mended in mends(path, body, at, problem):
            again = client.post(path, json=mended)
            count += 1
            assert again.status_code == 200, (path, at, json.dumps(body), problem, again.get_json())
            left = [place for place, _ in refusals(again.get_json()) if place == at]
            assert not left, (path, at, json.dumps(body), problem, again.get_json())
    return count


def mends(path: str, body: Any, at: tuple[Any, ...], problem: Any) -> Iterator[Any]:
    """The whole requests that a refusal offers; pointers of an item of a batch list are into its own request."""
    if path != "/v1/batch-lists" or not at:
        yield from offers(body, problem)
        return
    for request in offers(body["items"][at[1]]["request"], problem):
        items = [item | {"request": request} if i == at[1] else item for i, item in enumerate(body["items"])]
        yield body | {"items": items}


@pytest.mark.parametrize("operation, body", EXAMPLES)
def test_every_offer_in_an_answer_works(client: FlaskClient, operation: Any, body: Any) -> None:
    check_offers(client, operation.path, body)
    for seed in range(CHANGED):
        check_offers(client, operation.path, changed(body, Random(f"{operation.path} {seed}")))  # noqa: S311


def within_lists() -> Iterator[Any]:
    """Requests some items of which are refused, with offers, and others answered."""
    points, rollout, log, batches = (
        deepcopy(examples(name)["demo"]["value"])
        for name in ("createSetPoints", "createRollout", "createRegasState", "createBatchList")
    )
    points["temperatures"].append({"value": 14, "unit": "c"})
    yield "/v1/carbonation/set-points", points, 1
    rollout["standard"]["carbonation"]["temperature"]["value"] = 14
    yield "/v1/rollouts", rollout, len(rollout["sites"])
    log["vessels"][1] |= {"vessel": {"preset": "pet-500-ml"}, "events": []}
    log["vessels"][1]["start"]["fill"] = 0.2
    yield "/v1/regas/states", log, 1
    batches["items"][0]["request"]["size"] = {
        "whole_serves": {"count": 20, "vessel": {"preset": "pet-1-l"}, "fill": 0.97}
    }
    yield "/v1/batch-lists", batches, 1


@pytest.mark.parametrize("path, body, refused", [pytest.param(*one, id=one[0]) for one in within_lists()])
def test_offers_to_items_of_a_list_are_tried(client: FlaskClient, path: str, body: Any, refused: int) -> None:
    found = [problem for at, problem in refusals(client.post(path, json=body).get_json()) if at]
    assert ["nearest" in problem for problem in found] == [True] * refused
    assert check_offers(client, path, body) >= refused

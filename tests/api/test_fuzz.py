"""Random bodies at every operation: never a 500, never NaN, and what a refusal offers really works."""

import copy
import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.api.openapi import example
from tests.api.nearest import offers
from tests.asking import TAKING_JSON

every_operation = pytest.mark.parametrize("operation", TAKING_JSON, ids=lambda o: o.operation_id)
fuzz = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])

leaves = (
    st.none() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False) | st.integers() | st.text(max_size=20)
)
documents = st.recursive(
    leaves,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=20,
)
numbers = st.sampled_from(
    [0, -0.0, 1e-12, 1e-3, 0.1, 0.5, 0.9, 1, 2, 5, 10, 20, 40, 64, 95, 100, 1e3, 1e4, 1e7, 1e300, -1, -20, 10**40]
)
WORDS = """ml g oz bar psi c f g/l volumes brix meq/l d s glass steel keg-19-l pet-2-l left none purged still rocked
salted-ice fan-freezer us w/w ta {x} {0.__class__} %s"""
words = st.sampled_from([*WORDS.split(), "", "\u202e", "x" * 201])


def paths(node: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [at, *(path for key, child in inner for path in paths(child, (*at, key)))]


def mutated(body: Any, path: tuple[Any, ...], change: Any) -> Any:
    body = copy.deepcopy(body)
    if not path:
        return body
    node = body
    for key in path[:-1]:
        if not isinstance(node, dict | list):
            return body
        try:
            node = node[key]
        except (KeyError, IndexError):
            return body
    try:
        if change == "delete":
            del node[path[-1]]
        else:
            node[path[-1]] = change
    except (KeyError, IndexError, TypeError):
        pass
    return body


def check(client: Any, path: str, body: Any) -> None:
    response = client.post(path, data=json.dumps(body), content_type="application/json")
    text = response.get_data(as_text=True)
    assert response.status_code < 500, (body, text)
    found = json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} in an answer"))
    if response.status_code != 200:
        assert response.mimetype == "application/problem+json"
        assert found["errors"] or found["type"] == "/problems/invalid-json"
    for mended in offers(body, found) if found.get("nearest") else ():
        again = client.post(path, data=json.dumps(mended), content_type="application/json")
        assert again.status_code == 200, (body, found, again.get_json())


@every_operation
@fuzz
@given(body=documents)
def test_random_documents(client, operation, body):
    check(client, operation.path, body)


@every_operation
@fuzz
@given(data=st.data())
def test_examples_with_something_changed(client, operation, data):
    body = example(operation.operation_id)
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(paths(body)))
        change = data.draw(numbers | words | leaves | st.just("delete") | documents)
        body = mutated(body, path, change)
    check(client, operation.path, body)


@every_operation
@fuzz
@given(data=st.data())
def test_examples_with_other_numbers(client, operation, data):
    """Only numbers change, so that the core is reached and its refusals are met."""
    body = example(operation.operation_id)
    places = [p for p in paths(body) if isinstance(_at(body, p), int | float) and not isinstance(_at(body, p), bool)]
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(places))
        factor = data.draw(st.sampled_from([0, 0.01, 0.1, 0.3, 0.5, 0.8, 1.2, 1.5, 2, 3, 5, 10, 100]))
        body = mutated(body, path, _at(body, path) * factor)
    check(client, operation.path, body)


def _at(node: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        node = node[key]
    return node

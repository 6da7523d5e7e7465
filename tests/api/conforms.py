"""Holds answers against the OpenAPI document that clients are generated from."""

from functools import cache
from typing import Any

from jsonschema import Draft202012Validator

from service.api import openapi


@cache
def _document() -> dict[str, Any]:
    # here, so that one capability's test does not need every other's module
    from service.api.app import OPERATIONS
    from service.api.references import REFERENCES

    return openapi.document(OPERATIONS, REFERENCES)


@cache
def _validator(operation_id: str) -> Draft202012Validator:
    document = _document()
    (operation,) = (of for item in document["paths"].values() for of in item.values()
                    if of["operationId"] == operation_id)  # fmt: skip
    schema = operation["responses"]["200"]["content"]["application/json"]["schema"]
    return Draft202012Validator({**schema, "components": _named_only(document["components"])})


def _named_only(node: Any) -> Any:
    """The schemas with every object closed: answers may grow, but not by a property that the document does not name."""
    if isinstance(node, list):
        return [_named_only(inner) for inner in node]
    if not isinstance(node, dict):
        return node
    closed = {key: _named_only(inner) for key, inner in node.items()}
    if closed.get("type") == "object" and "properties" in closed:
        closed.setdefault("additionalProperties", False)
    return closed


def conforms(operation_id: str, answer: Any) -> None:
    """Assert that an answer is what the document promises, and holds nothing that it does not name."""
    faults = [f"{error.json_path}: {error.message}" for error in _validator(operation_id).iter_errors(answer)]
    assert faults == []

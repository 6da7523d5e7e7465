"""Applies what a refusal offers, so that a test can post the request again, and holds offers to what they may be."""

from collections.abc import Iterator
from copy import deepcopy
from typing import Any

FACTS_OF_THE_BAR = {
    "rated_by",
    "closure",
    "rated_at",
    "refillable",
    "made_for_carbonation",
    "charge_limit",
    "closed_limit",
    "kept_at",
    "warmest_room",
    "condition",
    "cycles",
    "first_used",
    "material",
    "vessel",
}
"""What only the bar knows, so that no offer states it: of its vessels and its rooms."""


def apply_nearest(body: dict[str, Any], problem: dict[str, Any]) -> dict[str, Any]:
    """The request with every `nearest` value put at its JSON Pointer (RFC 6901); members that lack are added."""
    return _applied(body, problem["nearest"])


def offers(body: dict[str, Any], problem: dict[str, Any]) -> list[dict[str, Any]]:
    """The requests to post again: with `nearest`, then with each of the offers alone, the first of which it is."""
    found = [_applied(body, offer["nearest"]) for offer in problem.get("offers", [])]
    nearest = apply_nearest(body, problem)
    assert found[:1] in ([], [nearest])
    return [nearest, *found[1:]]


def _applied(body: dict[str, Any], values: list[dict[str, Any]]) -> dict[str, Any]:
    changed = deepcopy(body)
    for near in values:
        put(changed, near["pointer"], near["value"])
    return changed


def put(document: dict[str, Any], pointer: str, value: Any) -> None:
    """Set the node at a JSON Pointer; objects on the way that lack are made, list items must exist."""
    *way, last = [token.replace("~1", "/").replace("~0", "~") for token in pointer.removeprefix("/").split("/")]
    node: Any = document
    for token in way:
        node = node[int(token)] if isinstance(node, list) else node.setdefault(token, {})
    if isinstance(node, list):
        node[int(last)] = value
    else:
        node[last] = value


def objects(node: Any) -> Iterator[dict[str, Any]]:
    """Every object in a document, itself first."""
    if isinstance(node, dict):
        yield node
        for inner in node.values():
            yield from objects(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from objects(inner)


def problems_in(answer: Any) -> Iterator[dict[str, Any]]:
    """Every problem document in an answer: itself, or of one of its points, sites, vessels or items."""
    return (one for one in objects(answer) if str(one.get("type", "")).startswith("/problems/"))


def facts_stated(problem: dict[str, Any]) -> list[str]:
    """Pointers at which a refusal offers what only the bar knows: nothing may stand in its place but words."""
    offered = [*problem.get("nearest", []), *(n for offer in problem.get("offers", []) for n in offer["nearest"])]
    return [at for near in offered for at in _facts(near["pointer"], near["value"])]


def _facts(pointer: str, value: Any) -> Iterator[str]:
    *_, before, last = ["", *pointer.split("/")]
    no_air = (last == "air" and isinstance(value, dict) and value.get("method") == "none") or (
        (before, last, value) == ("air", "method", "none")
    )
    if last in FACTS_OF_THE_BAR or no_air:
        yield pointer
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _facts(f"{pointer}/{name}", inner)

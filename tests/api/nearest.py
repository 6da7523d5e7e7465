"""Applies what a refusal offers, so that a test can post the request again."""

from copy import deepcopy
from typing import Any


def apply_nearest(body: dict[str, Any], problem: dict[str, Any]) -> dict[str, Any]:
    """The request with every `nearest` value put at its JSON Pointer (RFC 6901); members that lack are added."""
    changed = deepcopy(body)
    for near in problem["nearest"]:
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

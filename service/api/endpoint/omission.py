"""Answers that leave out the lists that a caller does not want; what is dangerous, and what a limit rests on, stays."""

from typing import Any

OMITTED = ("assumptions", "cautions", "params")
"""Lists that `?omit=` sends empty."""
BEHIND_A_LIMIT = frozenset(
    {
        "vessel", "keg", "brimful-capacity", "charge-limit-gauge", "closed-limit-gauge", "condition", "charges-so-far",
        "in-use-for", "fill-share-of-brimful", "warmest-place-where-the-keg-is-kept", "warmest-room", "dial-gauge",
        "temperature-the-keg-is-judged-at", "air-pressure-absolute", "gas-source", "air-handling", "purges",
        "air-left-after-squeezing", "purge-pressure-gauge", "air-that-pouring-let-in", "co2-before-charging",
    }
)  # fmt: skip
"""Assumptions that the pressure in a vessel is judged by, which are never left out."""
WHOLE = ("problem", "labels")
"""Members that are sent as they are: a refusal tells everything, and labels are the caller's."""


def omitting(body: dict[str, Any], names: frozenset[str]) -> dict[str, Any]:
    """Empty the lists of these names, wherever in an answer they stand, and return it.

    Cautions of steps stay. What is left of cautions and assumptions keeps its params.
    """
    if names:
        _omit(body, names)
    return body


def _omit(node: Any, names: frozenset[str]) -> None:
    if isinstance(node, list):
        for one in node:
            _omit(one, names)
    if not isinstance(node, dict) or node.get("severity") == "danger":
        return
    if "params" in names and "params" in node:
        node["params"] = []
    if "cautions" in node and "assumptions" in node:
        _omit_notes(node, names)
    for name, inner in node.items():
        if name not in WHOLE and name not in ("cautions", "assumptions"):
            _omit(inner, names)


def _omit_notes(head: dict[str, Any], names: frozenset[str]) -> None:
    """Leave out cautions and assumptions of the head of an answer, or the params of those that do not have to stay."""
    for name, stays in (("cautions", _is_grave), ("assumptions", _is_behind_a_limit)):
        rest = [] if name in names else [one for one in head[name] if not stays(one)]
        if "params" in names:
            for one in rest:
                one["params"] = []
        head[name] = [one for one in head[name] if stays(one) or name not in names]


def _is_grave(caution: dict[str, Any]) -> bool:
    return bool(caution["severity"] == "danger" or caution["code"] == "no-room-for-error")


def _is_behind_a_limit(assumption: dict[str, Any]) -> bool:
    return assumption["code"] in BEHIND_A_LIMIT

"""The work itself, and what a refusal of it offers, tried out before it is offered."""

from collections.abc import Callable, Iterable
from copy import deepcopy
from typing import Any, TypeVar

from service.api import problems
from service.api.answers import Answer
from service.api.endpoint.operation import Body, Operation
from service.api.endpoint.parsing import load
from service.api.endpoint.schemas import Request
from service.api.problems import RequestProblem
from service.errors import OutsideValidity, Refused, SeveralRefused
from service.notes import Notes

T = TypeVar("T")
MENDS = 4
"""Rounds in which the offer of a refusal is tried; more faults than this hide behind each other in no request seen."""
COMMON = frozenset(Request().fields)


def compute(view: Callable[[Body, Answer, Notes], T], given: Body, answer: Answer) -> tuple[Notes, T]:
    """What a view makes of that which its operation alone asks.

    raises: Refused, SeveralRefused
    """
    notes = Notes()
    asked = {name: value for name, value in given.items() if name not in COMMON}
    try:
        return notes, view(asked, answer, notes)
    except OutsideValidity as outside:
        raise problems.outside(outside) from None


def refused_as(
    operation: Operation,
    document: Any,
    refused: Refused | SeveralRefused,
    answer: Answer,
    rounds: Iterable[int] = range(MENDS),
) -> Body:
    """The problem of a refusal with what it offers tried out: applied together, the request is answered.

    Mending one fault may bring out the next, which then joins in with its offer. What does not work is not offered.

    rounds: one for each time that the request may be computed again; where there is none, nothing is offered
    """
    mended = deepcopy(document)
    offers: Body = {}
    met = list(problems.each(refused))
    first = last = problems.refusal(refused, answer)
    for _ in rounds:
        if not last.get("nearest"):
            break
        offers |= {near["pointer"]: near["value"] for near in last["nearest"]}
        for pointer, value in offers.items():
            put(mended, pointer, value)
        try:
            compute(operation.tried or operation.view, load(operation.request, mended), answer)
        except (Refused, SeveralRefused) as again:
            met += problems.each(again)
            last = problems.refusal(again, answer)
        except RequestProblem:
            break
        else:
            nearest = [{"pointer": pointer, "value": value} for pointer, value in offers.items()]
            return problems.refusal(SeveralRefused(met), answer) | {"nearest": nearest}
    return {name: value for name, value in first.items() if name != "nearest"}


def put(document: Any, pointer: str, value: Any) -> None:
    """Replace the node at a JSON Pointer (RFC 6901); objects on the way that lack are made."""
    *way, last = [token.replace("~1", "/").replace("~0", "~") for token in pointer.split("/")[1:]]
    node = document
    for token in way:
        node = node[int(token)] if isinstance(node, list) else node.setdefault(token, {})
    node[int(last) if isinstance(node, list) else last] = deepcopy(value)

"""The work of a request; offers of a refusal, each tried out before it is made."""

from collections.abc import Callable, Iterable
from functools import partial
from itertools import islice
from typing import Any, TypeVar

import orjson

from service.api import problems
from service.api.answers import Answer
from service.api.endpoint.operation import Body, Operation
from service.api.endpoint.parsing import load
from service.api.problems import RequestProblem
from service.errors import Offer, Refused, SeveralRefused, Term, within_validity
from service.notes import Notes

T = TypeVar("T")
WORKS = "Nearest that works: {offer}"
"""What stands before the first way out of a refusal."""
MENDS = 4
"""Rounds in which the offer of a refusal is tried; more faults than this hide behind each other in no request seen."""


def work(view: Callable[[Any, Notes], T], asked: Any) -> tuple[Notes, T]:
    """Return the notes and the answer of a view for a request.

    raises: Refused, SeveralRefused
    """
    notes = Notes()
    with within_validity():
        return notes, view(asked, notes)


def problem_of_refusal(
    operation: Operation[Any, Any],
    document: Any,
    refused: Refused | SeveralRefused,
    answer: Answer,
    rounds: Iterable[int] = range(MENDS),
) -> Body:
    """Return the problem of a refusal, its offers tried out: with all of them applied, the request is answered.

    rounds: one for each time that the request may be computed again; where there is none, nothing is offered
    """

    def again(mended: Any) -> None:
        work(operation.tried or operation.view, load(operation.schema, mended))

    return with_tested_offers(again, document, refused, answer, rounds)


def with_tested_offers(
    again: Callable[[Any], None],
    document: Any,
    refused: Refused | SeveralRefused,
    answer: Answer,
    rounds: Iterable[int],
) -> Body:
    """Return the problem with its offers tried out; one that does not work is left out.

    Where a refusal offers several ways, each is tried alone: all that work stand in offers, the first in nearest.
    again: computes the request with the offers put into it; it shares with the document what no offer touches
    """
    ways = _ways(refused)
    found: list[tuple[Offer | None, Body]] = []
    for offer, taken in ways:
        worked = _mended(again, document, taken, answer, rounds)
        if worked is not None:
            found.append((offer, worked))
    if not found:
        unmended = problems.refusal(refused, answer)
        return {name: value for name, value in unmended.items() if name != "nearest"}
    offers = [answer.offer(offer, one["nearest"]) for offer, one in found if offer is not None]
    _, first = found[0]
    if not offers:
        return first
    offered = next(offer for offer, _ in found if offer is not None)
    works = answer.warned(WORKS, {"offer": Term(offered.text, **dict(offered.params))})
    return first | {"detail": f"{first['detail']} {works}", "offers": offers}


def _ways(refused: Refused | SeveralRefused) -> list[tuple[Offer | None, Refused | SeveralRefused]]:
    """Return each way out of a refusal: those of the first that offers several, with the first offers of the others."""
    single = problems.each(refused)
    which = next((i for i, one in enumerate(single) if one.offers), None)
    if which is None:
        return [(None, refused)]
    return [
        (offer, SeveralRefused([*single[:which], single[which].taking(offer), *single[which + 1 :]]))
        for offer in single[which].offers
    ]


def _mended(
    again: Callable[[Any], None],
    document: Any,
    refused: Refused | SeveralRefused,
    answer: Answer,
    rounds: Iterable[int],
) -> Body | None:
    """Return the problem with a nearest that leads to an answer; None where there is none.

    Mending one fault may bring out the next, which then joins in with its offer.
    """
    mended, offers = document, Body()
    met = list(problems.each(refused))
    last = all_met = problems.refusal(refused, answer)
    for _ in rounds:
        if not last.get("nearest"):
            break
        offers |= {near["pointer"]: near["value"] for near in last["nearest"]}
        for pointer, value in offers.items():
            mended = put(mended, pointer, value)
        try:
            again(mended)
        except (Refused, SeveralRefused) as more:
            met += problems.each(more)
            last, all_met = problems.refusal(more, answer), problems.refusal(SeveralRefused(met), answer)
        except RequestProblem:
            break
        else:
            return all_met | {"nearest": [{"pointer": pointer, "value": value} for pointer, value in offers.items()]}
    return None


def try_each(operation: Operation[Any, Any], document: Any, found: Any, body: Body, answer: Answer) -> None:
    """Write the problem of every item that is refused alone with what it offers tried out, as of a whole request.

    Items that differ in their names alone share a trial.
    """
    if (each := operation.each) is None:
        return
    tries, known = iter(range(each.tries)), dict[bytes, Body]()
    common = {name: value for name, value in document.items() if name not in each.aside}
    for i, (item, written) in enumerate(zip(getattr(found, each.answered), body[each.answered], strict=True)):
        if item.problem is None:
            continue
        sent = document[each.sent][i]
        alike = _without(sent, each.aside)
        key = orjson.dumps(_without(alike, ("id",)))
        if key not in known:
            at, alone = f"/{each.sent}/{i}", {**common, each.sent: [alike]}
            refused = item.problem.moved(partial(_placed, at, f"/{each.sent}/0"))
            known[key] = problem_of_refusal(operation, alone, refused, answer, islice(tries, MENDS))
        written["problem"] = all_placed(known[key], f"/{each.sent}/0", f"/{each.sent}/{i}")


def _without(sent: Any, names: tuple[str, ...]) -> Any:
    return {name: value for name, value in sent.items() if name not in names} if isinstance(sent, dict) else sent


def _placed(before: str, after: str, pointer: str) -> str:
    """Return a pointer at or within one place as the same at another."""
    if pointer != before and not pointer.startswith(f"{before}/"):
        return pointer
    return f"{after}{pointer.removeprefix(before)}"


def all_placed(problem: Body, before: str, after: str) -> Body:
    """Return a problem with the pointers at or within one place as the same at another."""
    found = dict(problem)
    for name in ("errors", "nearest"):
        if name in found:
            found[name] = [one | {"pointer": _placed(before, after, one["pointer"])} for one in found[name]]
    if "offers" in found:
        found["offers"] = [all_placed(offer, before, after) for offer in found["offers"]]
    return found


def put(document: Any, pointer: str, value: Any) -> Any:
    """Return the document with a node at a JSON Pointer (RFC 6901); missing objects on the way are made.

    All that is not on the way is shared with the document given.
    """
    return _put(document, [token.replace("~1", "/").replace("~0", "~") for token in pointer.split("/")[1:]], value)


def _put(node: Any, way: list[str], value: Any) -> Any:
    if not way:
        return value
    token, *rest = way
    if isinstance(node, list):
        at = int(token)
        return [*node[:at], _put(node[at], rest, value), *node[at + 1 :]]
    return {**node, token: _put(node.get(token, {}), rest, value)}

"""Many batches at once, each answered or refused on its own."""

from collections.abc import Iterable, Mapping
from itertools import islice
from typing import Any

from marshmallow import ValidationError, fields

from service.api import problems
from service.api.answers import Answer
from service.api.batching.answer import BatchAnswer
from service.api.batching.request import BatchRequest
from service.api.endpoint import Body, Closed, Open, Operation, Request, rule
from service.api.endpoint.computing import MENDS, compute, refused_as
from service.api.endpoint.parsing import load
from service.api.problems import RequestProblem
from service.api.quantities import Answered, Coded, Text, says, text
from service.api.shapes import Envelope, Items
from service.errors import Refused, SeveralRefused

MOST_ITEMS = 100
MOST_LINES = 1500
"""Lines of a list together: what keeps the longest to about a quarter of a second of computing."""
LINES = ("components", "acids", "vessels", "prices", "on_hand")
"""What is counted as lines, wherever in an item it stands."""
MOST_TRIES = 20
"""How often in a list what a refusal offers is tried out; a refusal beyond that comes without an offer."""


class LoadedAlone(fields.Nested):
    """A request within a request, which is loaded on its own so that its faults refuse nothing else."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        return value


class BatchListItemSchema(Closed):
    """A request as /v1/batches takes it, under a name of the caller's."""

    id = Text(longest=64, required=True)
    request = LoadedAlone(BatchRequest, required=True)


class BatchListRequest(Request):
    """Several batches. units are those of items that state none."""

    items = Items(
        BatchListItemSchema,
        most=MOST_ITEMS,
        required=True,
        metadata=says(f"Ids differ; {', '.join(LINES)} of all items come to at most {MOST_LINES} together."),
    )

    @rule
    def told_apart_and_bounded(self, sent: Mapping[str, Any]) -> None:
        items = sent.get("items")
        if not isinstance(items, list) or len(items) > MOST_ITEMS:
            return  # the field says so itself
        ids = [item.get("id") if isinstance(item, Mapping) else None for item in items]
        wrong: dict[int, Any] = {
            i: {"id": [Coded("duplicate", "Each id stands once in a list.")]}
            for i, name in enumerate(ids)
            if isinstance(name, str) and name in ids[:i]
        }
        if wrong:
            raise ValidationError({"items": wrong})
        lines = _lines(items)
        if lines > MOST_LINES:
            text = f"{', '.join(LINES)} may come to {MOST_LINES} in all; these come to {lines}."
            raise ValidationError({"items": [Coded("too-many-lines", text)]})


def _lines(node: Any) -> int:
    """Of all that is within, as it was sent."""
    if isinstance(node, list):
        return sum(map(_lines, node))
    if not isinstance(node, dict):
        return 0
    own = sum(len(node[name]) for name in LINES if isinstance(node.get(name), list))
    return own + sum(map(_lines, node.values()))


class BatchListResultSchema(Open):
    """What became of one item: a result, or a problem whose pointers are into the item's request."""

    id = text(64)
    status = Answered({"type": "string", "enum": ["ok", "refused"]})
    result = fields.Nested(BatchAnswer)
    problem = Answered({"$ref": "#/components/schemas/Problem"}, required=False)


class BatchListAnswer(Envelope):
    """One result for each item, in the order of the request."""

    items = fields.List(fields.Nested(BatchListResultSchema), required=True)


def results(items: Iterable[Mapping[str, Any]], each: Operation, answer: Answer) -> list[Body]:
    """Every item answered by the operation for one."""
    tries = iter(range(MOST_TRIES))
    return [{"id": item["id"], **_result(item["request"], each, answer, islice(tries, MENDS))} for item in items]


def _result(document: Any, each: Operation, answer: Answer, tries: Iterable[int]) -> Body:
    try:
        given = load(each.request, document)
    except RequestProblem as problem:
        found = problems.document(problem.slug, problem.detail, errors=problem.errors, **problem.more)
        return {"status": "refused", "problem": found}
    own = Answer(given["units"]) if "units" in document else answer
    try:
        notes, result = compute(each, given, own)
    except (Refused, SeveralRefused) as refused:
        return {"status": "refused", "problem": refused_as(each, document, refused, own, tries)}
    labels = {"labels": given["labels"]} if "labels" in given else {}
    return {"status": "ok", "result": own.envelope(notes, {**labels, **result})}

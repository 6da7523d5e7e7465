"""Many batches at once, each answered or refused on its own."""

from collections.abc import Iterable, Mapping
from itertools import islice
from typing import Any

from marshmallow import fields

from service.api import problems
from service.api.answers import Answer
from service.api.batching.answer import BatchAnswer
from service.api.batching.request import BatchRequest
from service.api.endpoint import Body, Closed, Open, Operation, Request, rule
from service.api.endpoint.computing import MENDS, compute, refused_as
from service.api.endpoint.parsing import load
from service.api.problems import RequestProblem
from service.api.quantities import Answered, Text, says, text
from service.api.shapes import Envelope, Items, LoadedAlone, check_listed
from service.errors import Refused, SeveralRefused
from service.limits.requests import MOST_BATCH_LINES, MOST_ITEMS

LINES = ("components", "acids", "vessels", "prices", "on_hand")
"""What is counted as lines, wherever in an item it stands."""
MOST_TRIES = 20
"""How often in a list what a refusal offers is tried out; a refusal beyond that comes without an offer."""


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
        metadata=says(f"Ids differ; {', '.join(LINES)} of all items come to at most {MOST_BATCH_LINES} together."),
    )

    @rule
    def told_apart_and_bounded(self, sent: Mapping[str, Any]) -> None:
        check_listed(sent.get("items"), lines=LINES, most_lines=MOST_BATCH_LINES)


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
        notes, result = compute(each.view, given, own)
    except (Refused, SeveralRefused) as refused:
        return {"status": "refused", "problem": refused_as(each, document, refused, own, tries)}
    labels = {"labels": given["labels"]} if "labels" in given else {}
    return {"status": "ok", "result": own.envelope(notes, {**labels, **result})}

"""POST /v1/batches, and /v1/batch-lists for many at once, each answered or refused on its own."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Annotated, Any, Literal

from service.api import problems, wire
from service.api.endpoint import Body, Operation
from service.api.endpoint.computing import MENDS, problem_of_refusal, work
from service.api.endpoint.parsing import load
from service.api.endpoint.serving import answer_for, enveloped
from service.api.problems import RequestProblem
from service.batching import Batch, BatchRequest, more_than_water, scale
from service.declared import PROBLEM, Declared, items, shape, text
from service.errors import Fault, Refused, SeveralRefused
from service.limits.requests import MOST_BATCH_LINES, MOST_ITEMS
from service.listed import listed
from service.notes import Notes
from service.request import PlacedRequest
from service.science.units import UnitSystem

LINES = ("components", "acids", "vessels", "prices", "on_hand")
"""Lists that are counted as lines, wherever in an item they stand."""
MOST_TRIES = 20
"""Most offers of refusals that are tried out in one list; a refusal beyond that comes without an offer."""


def create_batch(asked: BatchRequest, notes: Notes) -> Batch:
    """Answer POST /v1/batches."""
    return more_than_water(scale(asked, notes))


CREATE_BATCH = Operation(
    path="/v1/batches",
    operation_id="createBatch",
    tag="batching",
    summary="One glass scaled to a batch.",
    description="Sizes a batch by serves, volume, vessels, whole serves of vessels, or the stock that runs out first. "
    "Answers with every "
    "component by volume, mass and practical measure, what the whole is, contraction included, what a serve holds, "
    "the order of weighing, cost, allergens by the European and the US list, use-by, label, stock, and what differs "
    "from a standard. A low-acid drink of unknown pH that alcohol does not keep gets a caution, never a use-by. "
    "spec_id is SHA-256 over the RFC 8785 form of the spec as received, strings in NFC: key order does not matter; "
    "equal amounts in other units need not have the same id, and what a reference fills in is not part of it.",
    request=BatchRequest,
    answer=Batch,
    view=create_batch,
)


@dataclass(frozen=True)
class BatchListItem:
    """A request as /v1/batches takes it, under a name of the caller's."""

    id: Annotated[str, text(64)]
    request: Annotated[Any, wire.loaded_alone(BatchRequest)]


def distinct_and_bounded(sent: Mapping[str, Any]) -> Iterable[Fault]:
    """Find items of one id, and lists of more lines than are computed."""
    return listed(sent.get("items"), lines=LINES, most_lines=MOST_BATCH_LINES)


@shape(rules=[distinct_and_bounded])
@dataclass(frozen=True, kw_only=True)
class BatchListRequest(PlacedRequest):
    """Several batches. units are those of items that state none."""

    items: Annotated[
        tuple[BatchListItem, ...],
        items(MOST_ITEMS),
        f"Ids differ; {', '.join(LINES)} of all items come to at most {MOST_BATCH_LINES} together.",
    ]


@dataclass(frozen=True)
class BatchListResult:
    """The outcome of one item: a result, or a problem whose pointers are into the item's request."""

    id: Annotated[str, text(64)]
    status: Declared[Literal["ok", "refused"]]
    result: Annotated[Body | None, wire.envelope_schema(Batch)] = None
    problem: Annotated[Body | None, PROBLEM] = None


@dataclass(frozen=True)
class BatchList:
    """One result for each item, in the order of the request."""

    items: Declared[tuple[BatchListResult, ...]]


def create_batch_list(asked: BatchListRequest, notes: Notes) -> BatchList:
    """Answer POST /v1/batch-lists: every item as /v1/batches does, in its own units."""
    tries = iter(range(MOST_TRIES))
    return BatchList(tuple([_result(item, asked.system, islice(tries, MENDS)) for item in asked.items]))


def _result(item: BatchListItem, units: UnitSystem, tries: Iterable[int]) -> BatchListResult:
    """Return the result of one item, or its problem.

    units: where it states none
    tries: one for each time that it may be computed again, to try out what its refusal offers
    """
    document = item.request
    if isinstance(document, dict) and "units" not in document:
        document = {**document, "units": units}
    try:
        asked: BatchRequest = load(CREATE_BATCH.schema, document)
    except RequestProblem as problem:
        found = problems.unread(problem)
        return BatchListResult(item.id, "refused", problem=found)
    answer = answer_for(asked)
    try:
        notes, batch = work(CREATE_BATCH.view, asked)
    except (Refused, SeveralRefused) as refused:
        return BatchListResult(
            item.id, "refused", problem=problem_of_refusal(CREATE_BATCH, document, refused, answer, tries)
        )
    result = enveloped(CREATE_BATCH, asked, answer, notes, CREATE_BATCH.write(batch, answer))
    return BatchListResult(item.id, "ok", result)


CREATE_BATCH_LIST = Operation(
    path="/v1/batch-lists",
    operation_id="createBatchList",
    tag="batching",
    summary="Many batches at once.",
    description=f"Up to {MOST_ITEMS} batches, {MOST_BATCH_LINES} lines in all. Each is answered as by "
    "/v1/batches, or refused with a problem of its own; pointers are into the item's request. What refusals offer "
    f"is tried out {MOST_TRIES} times a list; a refusal beyond that offers nothing, so post it alone.",
    request=BatchListRequest,
    answer=BatchList,
    view=create_batch_list,
)

OPERATIONS = (CREATE_BATCH, CREATE_BATCH_LIST)

"""Batches on the wire."""

from service.api.answers import Answer
from service.api.batching.answer import HEEL, WHOLE_SERVES, BatchAnswer, BatchBody, FillSchema
from service.api.batching.labelling import write_allergens
from service.api.batching.lists import (
    MOST_TRIES,
    BatchListAnswer,
    BatchListRequest,
    results,
)
from service.api.batching.request import (
    BatchRequest,
    BatchSizeSchema,
    DilutionSchema,
    LossSchema,
    RoundingSchema,
    steps,
)
from service.api.batching.writing import write, write_component, write_cost, write_fill, write_weighing
from service.api.endpoint import Body, Operation
from service.api.shapes import PriceSchema
from service.batching import Size, more_than_water, scale
from service.limits.requests import MOST_BATCH_LINES, MOST_ITEMS
from service.notes import Notes

__all__ = [
    "HEEL",
    "OPERATIONS",
    "WHOLE_SERVES",
    "BatchAnswer",
    "BatchBody",
    "BatchRequest",
    "BatchSizeSchema",
    "DilutionSchema",
    "FillSchema",
    "LossSchema",
    "PriceSchema",
    "RoundingSchema",
    "create_batch",
    "steps",
    "write",
    "write_allergens",
    "write_component",
    "write_cost",
    "write_fill",
    "write_weighing",
]


def create_batch(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/batches."""
    size = asked.get("size") or Size(on_hand=asked.get("on_hand"))
    stepped: Body = {**asked, "size": size, "rounding": steps(asked.get("rounding"), answer)}
    return write(more_than_water(scale(notes=notes, **stepped)), answer)


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
    request=BatchRequest(),
    answer=BatchAnswer,
    view=create_batch,
)


def create_batch_list(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/batch-lists."""
    return {"items": results(asked["items"], CREATE_BATCH, answer)}


OPERATIONS = (
    CREATE_BATCH,
    Operation(
        path="/v1/batch-lists",
        operation_id="createBatchList",
        tag="batching",
        summary="Many batches at once.",
        description=f"Up to {MOST_ITEMS} batches, {MOST_BATCH_LINES} lines in all. Each is answered as by "
        "/v1/batches, or refused with a problem of its own; pointers are into the item's request. What refusals offer "
        f"is tried out {MOST_TRIES} times a list; a refusal beyond that offers nothing, so post it alone.",
        request=BatchListRequest(),
        answer=BatchListAnswer,
        view=create_batch_list,
    ),
)

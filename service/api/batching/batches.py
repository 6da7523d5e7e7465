"""POST /v1/batches."""

from service.api.endpoint import Operation
from service.batching import Batch, BatchRequest, more_than_water, scale
from service.notes import Notes


def create_batch(asked: BatchRequest, notes: Notes) -> Batch:
    """Answer the request."""
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

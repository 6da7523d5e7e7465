"""Batches on the wire."""

from service.api.answers import Answer
from service.api.batching.answer import BatchAnswer, BatchBody, FillSchema, write, write_fill
from service.api.batching.request import (
    BatchRequest,
    BatchSizeSchema,
    DilutionSchema,
    LossSchema,
    PriceSchema,
    RoundingSchema,
    steps,
)
from service.api.endpoint import Body, Operation
from service.batching import scale
from service.notes import Notes

__all__ = [
    "OPERATIONS",
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
    "write_fill",
]


def create_batch(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/batches."""
    stepped: Body = {**asked, "rounding": steps(asked.get("rounding"), answer)}
    return write(scale(notes=notes, **stepped), answer)


OPERATIONS = (
    Operation(
        path="/v1/batches",
        operation_id="createBatch",
        tag="batching",
        summary="One glass scaled to a batch.",
        description="Sizes a batch by serves, volume, vessels or the stock that runs out first. Answers with every "
        "component by volume, mass and practical measure, what the whole is, contraction included, what a serve holds, "
        "the order of weighing, cost, allergens, use-by and stock. A low-acid drink gets a caution, never a use-by.",
        request=BatchRequest(),
        answer=BatchAnswer,
        view=create_batch,
    ),
)

"""Batches on the wire."""

from typing import Any

from service import batching
from service.api import wire
from service.api.answers import Answer
from service.api.batching.batches import CREATE_BATCH
from service.api.batching.lists import CREATE_BATCH_LIST
from service.api.endpoint import Body
from service.api.quantities import says
from service.batching import (
    Allergens,
    AllergenSource,
    Batch,
    Cost,
    Dilution,
    Fill,
    Line,
    Rounding,
    Size,
    Weighing,
    by_jug_of,
)
from service.site import Price

__all__ = ["CREATE_BATCH", "CREATE_BATCH_LIST", "OPERATIONS"]

AllergenSourceSchema: Any = wire.answer_schema(AllergenSource)
BatchBody: Any = wire.answer_schema(Batch)
BatchComponentSchema: Any = wire.answer_schema(Line)
CostSchema: Any = wire.answer_schema(Cost)
FillSchema: Any = wire.answer_schema(Fill)
WeighingSchema: Any = wire.answer_schema(Weighing)
BatchSizeSchema: Any = wire.request_schema(Size)
DilutionSchema: Any = wire.request_schema(Dilution)
PriceSchema: Any = wire.request_schema(Price)
RoundingSchema: Any = wire.request_schema(Rounding)
WHOLE_SERVES, HEEL = says(batching.WHOLE_SERVES), says(batching.HEEL)
write = write_component = write_fill = wire.write


def steps(asked: Rounding | None, answer: Answer) -> Rounding:
    """Return the steps asked for; where the request is silent, those of a jug in the caller's units."""
    return by_jug_of(answer.system, asked)


def write_allergens(allergens: Allergens) -> Body:
    """Return what has to be declared, by both lists, and where it comes from."""
    return wire.write(allergens, Answer("metric"))


def write_weighing(weighing: tuple[Weighing, ...], answer: Answer) -> list[Body]:
    """Return what is weighed, in the order of work."""
    return [wire.write(one, answer) for one in weighing]


def write_cost(cost: Cost) -> Body:
    """Return what is used and what is laid out."""
    return {"cost": wire.write(cost, answer := Answer("metric")), "outlay": answer.money(cost.outlay)}


OPERATIONS = (CREATE_BATCH, CREATE_BATCH_LIST)

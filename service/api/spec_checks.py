"""POST /v1/spec-checks."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from marshmallow import ValidationError

from service.api import problems, wire
from service.api.endpoint import Operation
from service.declared import items, shape, text, volume
from service.drink import Spec
from service.errors import Fault
from service.limits.charging import MOST_ABV, STRONGEST_ABV, SWEETEST_G_PER_L
from service.limits.requests import MOST_FINDINGS, MOST_ITEMS, MOST_SPEC_LINES
from service.listed import listed
from service.notes import Notes
from service.request import PlacedRequest
from service.site import Scale
from service.spec_check import Checked, Smallest, SpecCheckResult, SpecChecks, check, findings_of_faults, smallest_of

LINES = ("components", "acids")
"""Lists that are counted as lines, wherever in a spec they stand."""
_SPEC = wire.object_of(Spec)


@dataclass(frozen=True)
class SpecCheckItem:
    """A spec under a name of the caller's."""

    id: Annotated[str, text(64)]
    spec: Annotated[Any, wire.loaded_alone(Spec)]


def _distinct_and_bounded(sent: Mapping[str, Any]) -> Iterator[Fault]:
    return listed(sent.get("items"), lines=LINES, most_lines=MOST_SPEC_LINES)


@shape(rules=[_distinct_and_bounded])
@dataclass(frozen=True, kw_only=True)
class SpecChecksRequest(PlacedRequest):
    """Specs before they go out, and the venue where the least of them is made."""

    items: Annotated[
        tuple[SpecCheckItem, ...],
        items(MOST_ITEMS),
        f"Ids differ; {' and '.join(LINES)} of all specs come to at most {MOST_SPEC_LINES} together.",
    ]
    smallest_batch_ml: Annotated[
        float | None,
        volume(low=20.0, high=1_000_000.0),
        "Least that any venue makes at once; 0.8 l, one bottle of 1 l at its usual fill, unless stated.",
    ] = None
    scale: Annotated[
        Scale | None, "The coarsest that any venue has; whole grams unless stated. Its load is not judged."
    ] = None


def create_spec_check(asked: SpecChecksRequest, notes: Notes) -> SpecChecks:
    """Answer POST /v1/spec-checks."""
    smallest = smallest_of(asked.smallest_batch_ml, asked.scale, notes)
    return SpecChecks(
        tuple(
            SpecCheckResult(item.id, _checked(item.spec, smallest, notes, f"/items/{i}/spec"))
            for i, item in enumerate(asked.items)
        )
    )


def _checked(document: Any, smallest: Smallest, notes: Notes, at: str) -> Checked:
    try:
        spec: Spec = _SPEC.deserialize(document)
    except ValidationError as error:
        return findings_of_faults([_fault(one) for one in problems.faults_of(error)[:MOST_FINDINGS]], at)
    return check(spec, smallest, notes, at=at)


def _fault(entry: Mapping[str, Any]) -> Fault:
    params = tuple((one["name"], one["text"]) for one in entry.get("params", ()))
    return Fault(entry["pointer"], entry["code"], entry["text"], params)


OPERATIONS = (
    Operation(
        path="/v1/spec-checks",
        operation_id="createSpecCheck",
        tag="batching",
        summary="What to put right in specs before they go out.",
        description=f"Up to {MOST_ITEMS} specs, {MOST_SPEC_LINES} lines in all, each on its own: whether to carbonate "
        "it, and findings with code, severity, pointer, reason and basis. no: live cultures, what no liquid can be, "
        f"what cannot be read, and drinks over {MOST_ABV:g} %vol or where else the equations end. care: haze, pulp, "
        f"foam, little acid, over {STRONGEST_ABV:g} %vol or {SWEETEST_G_PER_L:g} g/l of sugar, and components of which "
        "nothing is stated. Beside these: data that numbers rest on, allergens, shelf life, and what weighing makes of "
        "acidity and strength in the smallest batch. What a spec leaves out is a finding and no assumption.",
        request=SpecChecksRequest,
        answer=SpecChecks,
        view=create_spec_check,
    ),
)

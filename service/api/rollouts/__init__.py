"""POST /v1/rollouts."""

from service.api.endpoint import Operation
from service.api.pages import table
from service.api.rollouts import streams
from service.api.rollouts.refusing import MOST_TRIES
from service.api.rollouts.streams import RolloutParts, write
from service.rollout import Rollout, RolloutRequest, begin

__all__ = ["OPERATIONS"]

ROLLOUTS = Operation(
    path="/v1/rollouts",
    operation_id="createRollout",
    tag="rollouts",
    summary="One spec at many venues, with the same CO2 in every bottle.",
    description="For each venue the set-point, charges, chilling, batch, fills, re-gas interval and cost, in its own "
    "units and on its own clock; what differs from the standard and why; and how far apart the venues are in what the "
    "guest gets. Held against the version before, each site tells what it must change. The level in the vessel is the "
    "same everywhere; the glass, which the altitude changes, is told. A venue that is refused is so alone, with "
    "pointers into the whole request. An invalid field refuses the whole. As application/x-ndjson or CSV it is sent "
    f"while it is computed. What refusals offer is tried out {MOST_TRIES} times a rollout; a refusal beyond that has "
    "no offer, so post that venue alone.",
    request=RolloutRequest,
    answer=Rollout,
    pressure=True,
    view=begin,
    write=write,
    parts=RolloutParts,
    streams={"ndjson": streams.lines, "csv": streams.table},
    headers={"csv": table.HEADERS},
)

OPERATIONS = (ROLLOUTS,)

"""POST /v1/rollouts."""

import orjson

from service.api.answers import Answer
from service.api.endpoint import Body, OldOperation, Parts
from service.api.pages import table
from service.api.rollouts import streams
from service.api.rollouts.answer import RolloutAnswer
from service.api.rollouts.refusing import MOST_TRIES
from service.api.rollouts.request import RolloutRequest
from service.api.rollouts.rolling import rolling
from service.notes import Notes

__all__ = ["OPERATIONS"]


def create_rollout(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Answer POST /v1/rollouts."""
    found = rolling(asked, answer, notes)
    sites = [orjson.Fragment(orjson.dumps(site)) for site in found.venues()]  # bytes take less memory than dictionaries
    return {"sites": sites, **found.end()}


def begin_rollout(asked: Body, answer: Answer, notes: Notes) -> Parts:
    """The same, venue by venue."""
    found = rolling(asked, answer, notes)
    return Parts(found.venues(), found.end)


def try_rollout(asked: Body, answer: Answer, notes: Notes) -> Body:
    """Refuses what no venue could make."""
    rolling(asked, answer, notes)
    return {}


ROLLOUTS = OldOperation(
    path="/v1/rollouts",
    operation_id="createRollout",
    tag="rollouts",
    summary="One spec at many venues, with the same CO2 in every bottle.",
    description="For each venue the set-point, charges, chilling, batch, fills, re-gas interval and cost, in its own "
    "units and on its own clock; what differs from the standard and why; and how far apart the venues are in what the "
    "guest gets. The level in the vessel is the same everywhere; the glass, which the altitude changes, is told. A "
    "venue that is refused is so alone, with pointers into the whole request. An invalid field refuses the whole. As "
    "application/x-ndjson or CSV it is sent while it is computed. What refusals offer is tried out "
    f"{MOST_TRIES} times a rollout; a refusal beyond that offers nothing, so post that venue alone.",
    request=RolloutRequest(),
    answer=RolloutAnswer,
    pressure=True,
    view=create_rollout,
    parts=begin_rollout,
    streams={"ndjson": streams.lines, "csv": streams.table},
    tried=try_rollout,
    headers={"csv": table.HEADERS},
)

OPERATIONS = (ROLLOUTS,)

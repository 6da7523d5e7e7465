"""The refusal of one venue: its problem, with pointers into the whole, and its offer tried out on it alone."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

import orjson

from service.api.answers import Answer
from service.api.endpoint import Body, Operation
from service.api.endpoint.computing import MENDS, refused_as
from service.errors import Refused, SeveralRefused

MOST_TRIES = 1000
"""How often in a rollout what a refusal offers is tried out, twice for each venue of the longest; beyond that a refusal
comes without an offer."""
ALONE = "/sites/0"


@dataclass
class Refusing:
    """Writes the problems of one rollout; venues that differ by their names alone share one.

    each: the rollout of a single venue, which refuses what that venue is refused
    sent: the request as it was sent
    """

    each: Operation
    sent: Mapping[str, Any]
    _tries: Any = field(default_factory=lambda: iter(range(MOST_TRIES)))
    _known: dict[bytes, Body] = field(default_factory=dict)

    def problem(self, i: int, refused: Refused | SeveralRefused, answer: Answer) -> Body:
        """Of the venue at a place of the list.

        refused: pointers of the venue begin with /site
        """
        alike = {name: value for name, value in self.sent["sites"][i].items() if name not in ("id", "name")}
        key = orjson.dumps(alike)
        if key not in self._known:
            self._known[key] = self._tried(i, refused, answer)
        found = self._known[key]
        return {
            name: [_placed(one, i) for one in value] if name in ("errors", "nearest") else value
            for name, value in found.items()
        }

    def _tried(self, i: int, refused: Refused | SeveralRefused, answer: Answer) -> Body:
        alone = {**self.sent, "sites": [self.sent["sites"][i]]}
        return refused_as(self.each, alone, in_the_list(refused), answer, islice(self._tries, MENDS))


def in_the_list(refused: Refused | SeveralRefused) -> Refused | SeveralRefused:
    """The refusal of the only venue of a rollout."""
    return refused.moved(lambda pointer: placed(pointer, 0))


def placed(pointer: str, i: int) -> str:
    """A pointer of the venue at hand as one of the venue at a place of the list."""
    return (
        f"/sites/{i}{pointer.removeprefix('/site')}" if pointer == "/site" or pointer.startswith("/site/") else pointer
    )


def _placed(one: Body, i: int) -> Body:
    pointer = one["pointer"]
    if pointer != ALONE and not pointer.startswith(f"{ALONE}/"):
        return one
    return {**one, "pointer": f"/sites/{i}{pointer.removeprefix(ALONE)}"}

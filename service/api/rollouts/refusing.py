"""The refusal of one venue: its problem, with pointers into the whole, and its offer tried out on it alone."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial
from itertools import islice
from typing import Annotated

import orjson

from service.api import wire
from service.api.answers import Answer
from service.api.endpoint import Body
from service.api.endpoint.computing import MENDS, tried_out
from service.api.endpoint.parsing import load
from service.declared import Declared, items
from service.drink import Spec
from service.errors import Refused, SeveralRefused, within_validity
from service.limits.requests import MOST_SITES
from service.notes import Notes
from service.request import Request
from service.rollout import SharedWork, Standard, VenueSite, begin, check, tried

MOST_TRIES = 2000
"""How often in a rollout what a refusal offers is tried out, once for each of four offers to each venue of the longest;
beyond that a refusal comes without an offer."""
STANDARDS = 64
"""So many standards are kept while offers are tried out: what the last offers make of the one that was sent."""
ALONE = "/sites/0"


@dataclass(frozen=True, kw_only=True)
class OfferedRequest(Request):
    """What an offer changes of a rollout, without the rest; the rules across its parts hold as they did."""

    spec: Declared[Spec | None] = None
    standard: Declared[Standard | None] = None
    sites: Annotated[tuple[VenueSite, ...], items(MOST_SITES)] = ()


OFFERED = wire.request_schema(OfferedRequest)()


class Refusing:
    """Writes the problems of one rollout; venues that differ by their names alone share one.

    begun: what no venue changes; answer: in the units of venues that state none
    """

    def __init__(self, begun: SharedWork, answer: Answer) -> None:
        self.begun, self.answer, self.sent = begun, answer, begun.asked.sent
        self._tries = iter(range(MOST_TRIES))
        self._known: dict[bytes, Body] = {}

    def problem(self, i: int, refused: Refused | SeveralRefused, answer: Answer) -> Body:
        """Return the problem of the venue at a place of the list.

        refused: pointers of the venue begin with /site
        """
        alike = {name: value for name, value in self.sent["sites"][i].items() if name not in ("id", "name")}
        key = orjson.dumps(alike)
        if key not in self._known:
            alone = {**self.sent, "sites": [self.sent["sites"][i]]}
            again, tries = partial(self._again, i, alone), islice(self._tries, MENDS)
            self._known[key] = tried_out(again, alone, _alone(refused), answer, tries)
        found = self._known[key]
        return _all_placed(found, i)

    def _again(self, i: int, alone: Body, mended: Body) -> None:
        """Work the venue out with an offer; what the offer leaves as it was is neither read nor begun again."""
        changed = {name: value for name, value in mended.items() if value is not alone.get(name)}
        site = self.begun.asked.sites[i]
        if "sites" in changed:
            (site,) = load(OFFERED, {"sites": changed.pop("sites")}).sites
        try:
            with within_validity():
                begun = self._begun_with(orjson.dumps(changed))
                check(begun, site)
        except (Refused, SeveralRefused) as refused:
            raise _alone(refused) from None

    @cached_property
    def _begun_with(self) -> Callable[[bytes], SharedWork]:
        """What one change of spec or standard comes to is worked out once for many venues."""
        return lru_cache(maxsize=STANDARDS)(self._begun)

    def _begun(self, changed: bytes) -> SharedWork:
        offered, asked = load(OFFERED, orjson.loads(changed)), self.begun.asked
        standard = offered.standard or asked.standard
        if offered.spec is not None:
            return begin(replace(asked, spec=offered.spec, standard=standard, against=None, sites=()), Notes())
        return tried(self.begun, standard)


def placed(pointer: str, i: int) -> str:
    """Return a pointer of the venue at hand as one of the venue at a place of the list."""
    return (
        f"/sites/{i}{pointer.removeprefix('/site')}" if pointer == "/site" or pointer.startswith("/site/") else pointer
    )


def _alone(refused: Refused | SeveralRefused) -> Refused | SeveralRefused:
    """The refusal of the only venue of a rollout."""
    return refused.moved(lambda pointer: placed(pointer, 0))


def _all_placed(problem: Body, i: int) -> Body:
    """The problem with its pointers at the venue's place."""
    found = dict(problem)
    for name in ("errors", "nearest"):
        if name in found:
            found[name] = [_placed(one, i) for one in found[name]]
    if "offers" in found:
        found["offers"] = [_all_placed(offer, i) for offer in found["offers"]]
    return found


def _placed(one: Body, i: int) -> Body:
    pointer = one["pointer"]
    if pointer != ALONE and not pointer.startswith(f"{ALONE}/"):
        return one
    return {**one, "pointer": f"/sites/{i}{pointer.removeprefix(ALONE)}"}

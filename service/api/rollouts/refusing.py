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
from service.api.endpoint.computing import MENDS, all_placed, with_tested_offers
from service.api.endpoint.parsing import load
from service.declared import Declared, items
from service.drink import Spec
from service.errors import Refused, SeveralRefused, within_validity
from service.limits.requests import MOST_SITES
from service.notes import Notes
from service.request import Request
from service.rollout import SharedWork, Standard, VenueSite, begin, begin_with_offer, check

MOST_TRIES = 2000
"""Most offers of refusals that are tried out in one rollout, once for each of four offers to each venue of the longest;
beyond that a refusal comes without an offer."""
STANDARDS = 64
"""Most changed standards that are kept while offers are tried out."""
ALONE = "/sites/0"


@dataclass(frozen=True, kw_only=True)
class OfferedRequest(Request):
    """The part of a rollout that an offer may change; the rules across its parts hold as they did."""

    spec: Declared[Spec | None] = None
    standard: Declared[Standard | None] = None
    sites: Annotated[tuple[VenueSite, ...], items(MOST_SITES)] = ()


OFFERED = wire.request_schema(OfferedRequest)()


class RefusalWriter:
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
            self._known[key] = with_tested_offers(again, alone, _of_one_venue(refused), answer, tries)
        found = self._known[key]
        return all_placed(found, ALONE, f"/sites/{i}")

    def _again(self, i: int, alone: Body, mended: Body) -> None:
        """Work the venue out with an offer; parts that it leaves as they were are neither read nor begun again."""
        changed = {name: value for name, value in mended.items() if value is not alone.get(name)}
        site = self.begun.asked.sites[i]
        if "sites" in changed:
            (site,) = load(OFFERED, {"sites": changed.pop("sites")}).sites
        try:
            with within_validity():
                begun = self._begun_with(orjson.dumps(changed))
                check(begun, site)
        except (Refused, SeveralRefused) as refused:
            raise _of_one_venue(refused) from None

    @cached_property
    def _begun_with(self) -> Callable[[bytes], SharedWork]:
        """Return the shared work of a changed spec or standard, which is begun once for many venues."""
        return lru_cache(maxsize=STANDARDS)(self._begun)

    def _begun(self, changed: bytes) -> SharedWork:
        offered, asked = load(OFFERED, orjson.loads(changed)), self.begun.asked
        standard = offered.standard or asked.standard
        if offered.spec is not None:
            return begin(replace(asked, spec=offered.spec, standard=standard, against=None, sites=()), Notes())
        return begin_with_offer(self.begun, standard)


def placed(pointer: str, i: int) -> str:
    """Return a pointer of the venue at hand as one of the venue at a place of the list."""
    return (
        f"/sites/{i}{pointer.removeprefix('/site')}" if pointer == "/site" or pointer.startswith("/site/") else pointer
    )


def _of_one_venue(refused: Refused | SeveralRefused) -> Refused | SeveralRefused:
    """Return the refusal with its pointers as those of a rollout's only venue."""
    return refused.moved(lambda pointer: placed(pointer, 0))

"""A rollout venue by venue, each answered or refused on its own, in its own units and manner."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property, lru_cache

import orjson

from service.api import wire
from service.api.answers import Answer
from service.api.endpoint import Body
from service.api.places import speech_of
from service.api.rollouts.refusing import Refusing, placed
from service.errors import Refused, SeveralRefused, within_validity
from service.rollout import KEPT, SharedWork, Spreads, Venue, refused_answer, rollout_end, venue, venue_answer
from service.science.units import UnitSystem
from service.site import Site


def write(work: SharedWork, answer: Answer) -> Body:
    """Write every venue, then what holds of all."""
    rolling = Rolling(work, answer)
    sites = [orjson.Fragment(orjson.dumps(site)) for site in rolling.items]  # bytes take less memory than dictionaries
    return {"sites": sites, **rolling.end()}


class Rolling:
    """The venues of a rollout, each as soon as it is asked for; what they come to together is known at the end."""

    def __init__(self, work: SharedWork, answer: Answer) -> None:
        self.work, self.answer = work, answer
        self.refusing, self.refused, self.spreads = Refusing(work, answer), 0, Spreads()
        self._batch = lru_cache(maxsize=KEPT)(_written_batch)

    @cached_property
    def items(self) -> Iterator[Body]:
        """The venues, one after the other."""
        return (self._venue(i, site) for i, site in enumerate(self.work.asked.sites))

    def end(self) -> Body:
        """Return what is known once they are all computed."""
        return wire.write(rollout_end(self.work, self.refused, self.spreads.found()), self.answer)

    def _venue(self, i: int, site: Site) -> Body:
        own = answer_at(site, self.answer)
        try:
            with within_validity():
                found = venue(self.work, site)
        except (Refused, SeveralRefused) as refused:
            self.refused += 1
            return wire.write(refused_answer(site, self.refusing.problem(i, refused, own)), own)
        self.spreads.add(found)
        return _in_place(self._written(found, own), i)

    def _written(self, found: Venue, own: Answer) -> Body:
        """Write a venue; venues that make the same batch share what is written of it."""
        body = wire.write(replace(venue_answer(found, self.work), batch=None), own)
        return {**body, "batch": self._batch(found.batch, own.system)}


def _written_batch(batch: object, system: UnitSystem) -> Body:
    return wire.write(batch, Answer(system))


def answer_at(site: Site, answer: Answer) -> Answer:
    """Return what writes in the units and in the manner of the venue."""
    if site.units is None and site.locale is None and site.time_zone is None:
        return answer
    return Answer(site.units or answer.system, speech_of(site.locale, site.time_zone))


def _in_place(body: Body, i: int) -> Body:
    """Return a venue's body with its pointers as those of its place in the list."""
    for said in (*body["cautions"], *body["assumptions"]):
        said["pointers"] = [placed(pointer, i) for pointer in said["pointers"]]
    for one in (*body["differs"], *body.get("changes", ())):
        one["pointer"] = placed(one["pointer"], i)
    return body

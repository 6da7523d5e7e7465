"""A rollout venue by venue, each answered or refused on its own."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from service.api.answers import Answer
from service.api.endpoint import Body
from service.api.rollouts.refusing import Refusing
from service.api.rollouts.venue import answer_at, placed, steps_at
from service.api.rollouts.writing import named, write_batch, write_end, write_venue
from service.errors import Refused, SeveralRefused, within_validity
from service.notes import Notes
from service.rollout import KEPT, Asked, SharedWork, Spreads, begin, venue
from service.site import Site


@dataclass
class Rolling:
    """The venues of a rollout, each as soon as it is asked for; what they come to together is known at the end."""

    once: SharedWork
    answer: Answer
    refusing: Refusing
    refused: int = 0
    spreads: Spreads = field(default_factory=Spreads)

    def venues(self) -> Iterator[Body]:
        for i, site in enumerate(self.once.asked.sites):
            yield {**named(site), **self._venue(i, site)}

    def end(self) -> Body:
        return {"refused": self.refused, **write_end(self.once, self.spreads.found(), self.answer)}

    def _venue(self, i: int, site: Site) -> Body:
        own = answer_at(site, self.answer)
        try:
            with within_validity():
                found = venue(self.once, site, steps_at(self.once, own))
        except (Refused, SeveralRefused) as refused:
            return self._refused(i, refused, own)
        self.spreads.add(found)
        batch = self._batch(found.made, found.abv, found.acid_meq_per_l, own.system)
        return {"status": "ok", **_in_place(write_venue(found, self.once, batch, own), i)}

    def _refused(self, i: int, refused: Refused | SeveralRefused, own: Answer) -> Body:
        self.refused += 1
        return {"status": "refused", "problem": self.refusing.problem(i, refused, own)}

    @cached_property
    def _batch(self) -> Callable[..., Body]:
        return lru_cache(maxsize=KEPT)(write_batch)


def rolling(asked: Body, answer: Answer, notes: Notes) -> Rolling:
    """A rollout that has begun: all that no venue changes is worked out.

    raises: Refused, SeveralRefused, OutsideValidity for what no venue could make
    """
    begun = begin(Asked(asked["spec"], asked["sites"], asked["standard"]), notes)
    return Rolling(begun, answer, Refusing(begun, asked["sent"], answer))


def _in_place(body: Body, i: int) -> Body:
    """With the pointers of the venue at hand as those of its place in the list."""
    for said in (*body["cautions"], *body["assumptions"]):
        said["pointers"] = [placed(pointer, i) for pointer in said["pointers"]]
    for one in body["differs"]:
        one["pointer"] = placed(one["pointer"], i)
    return body

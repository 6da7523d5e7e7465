"""A rollout venue by venue, each answered or refused on its own."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

from service.api import batching, problems
from service.api.answers import Answer
from service.api.endpoint import Body, Operation
from service.api.endpoint.operation import View
from service.api.places import speech_of
from service.api.rollouts.refusing import Refusing, in_the_list, placed
from service.api.rollouts.writing import named, write_batch, write_end, write_venue
from service.drink import Spec
from service.errors import OutsideValidity, Refused, SeveralRefused
from service.notes import Notes
from service.rollout import KEPT, Asked, Once, Spreads, Standard, Venue, once, venue
from service.site import Site

STANDARDS = 4
"""So many standards are kept while offers are tried out: the one that was sent, and what the last offers make of it."""


@dataclass
class Rolling:
    """The venues of a rollout, each as soon as it is asked for; what they come to together is known at the end."""

    once: Once
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
        own = _answer_at(site, self.answer)
        try:
            found = made_at(self.once, site, own)
        except (Refused, SeveralRefused) as refused:
            self.refused += 1
            return {"status": "refused", "problem": self.refusing.problem(i, refused, own)}
        self.spreads.add(found)
        batch = self._batch(found.made, found.abv, found.acid_meq_per_l, own.system)
        return {"status": "ok", **_in_place(write_venue(found, self.once, batch, own), i)}

    @cached_property
    def _batch(self) -> Callable[..., Body]:
        return lru_cache(maxsize=KEPT)(write_batch)


def rolling(asked: Body, answer: Answer, notes: Notes, rollouts: Operation) -> Rolling:
    """A rollout that has begun: all that no venue changes is worked out.

    rollouts: the operation, by which the offers of refusals are tried out
    raises: Refused, SeveralRefused, OutsideValidity for what no venue could make
    """
    found = once(Asked(asked["spec"], asked["sites"], asked["standard"]), notes)
    return Rolling(found, answer, Refusing(replace(rollouts, view=_alone(), tried=None), asked["sent"]))


def _alone() -> View:
    """Nothing of a single venue but its refusal; what one spec and standard come to is worked out once for many."""

    @lru_cache(maxsize=STANDARDS)
    def once_for(spec: Spec, standard: Standard) -> Once:
        return once(Asked(spec, (), standard), Notes())

    def refuse(asked: Body, answer: Answer, notes: Notes) -> Body:
        (site,) = asked["sites"]
        try:
            made_at(once_for(asked["spec"], asked["standard"]), site, _answer_at(site, answer))
        except (Refused, SeveralRefused) as refused:
            raise in_the_list(refused) from None
        return {}

    return refuse


def made_at(found: Once, site: Site, answer: Answer) -> Venue:
    """raises: Refused, SeveralRefused"""
    try:
        return venue(found, site, batching.steps(found.asked.standard.rounding, answer))
    except OutsideValidity as outside:
        raise problems.outside(outside) from None


def _answer_at(site: Site, answer: Answer) -> Answer:
    """In the units and in the manner of the venue."""
    if site.units is None and site.locale is None and site.time_zone is None:
        return answer
    return Answer(site.units or answer.system, speech_of(site.locale, site.time_zone))


def _in_place(body: Body, i: int) -> Body:
    """With the pointers of the venue at hand as those of its place in the list."""
    for said in (*body["cautions"], *body["assumptions"]):
        said["pointers"] = [placed(pointer, i) for pointer in said["pointers"]]
    for one in body["differs"]:
        one["pointer"] = placed(one["pointer"], i)
    return body

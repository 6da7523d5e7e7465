"""One venue: its manner of writing, its steps, and where its pointers stand in the whole."""

from service.api import batching
from service.api.answers import Answer
from service.api.places import speech_of
from service.batching import Rounding
from service.rollout import SharedWork
from service.site import Site


def answer_at(site: Site, answer: Answer) -> Answer:
    """In the units and in the manner of the venue."""
    if site.units is None and site.locale is None and site.time_zone is None:
        return answer
    return Answer(site.units or answer.system, speech_of(site.locale, site.time_zone))


def steps_at(once: SharedWork, answer: Answer) -> Rounding:
    """Of the venue's measures, in its units."""
    return batching.steps(once.asked.standard.rounding, answer)


def placed(pointer: str, i: int) -> str:
    """A pointer of the venue at hand as one of the venue at a place of the list."""
    return (
        f"/sites/{i}{pointer.removeprefix('/site')}" if pointer == "/site" or pointer.startswith("/site/") else pointer
    )

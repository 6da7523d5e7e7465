"""The rounds of charging, as a line of paper."""

from collections.abc import Sequence

from service.api.pages.paper import Paper
from service.carbonation import Charging
from service.limits.charging import ICE_BATH_C, ICE_C
from service.prep_sheet import Step
from service.science.units import Quantity


def rounds(charging: Charging, steps: Sequence[Step], paper: Paper) -> str:
    """Return the rounds of charging in a line: what is done with each vessel, where it goes, and the rest between."""
    plan = charging.planned
    told = [_turns(plan.agitation, plan.shake_s, plan.count, paper), _back(plan.temperature_c, paper)]
    rest_s = next((step.timer.each_s for step in steps if step.code == "rest" and step.timer is not None), None)
    if rest_s is not None:
        told.append(paper.say("Rest {rest} in the cold between rounds.", rest=Quantity("duration", rest_s)))
    return " ".join(told)


def _turns(agitation: str, shake_s: float, count: int, paper: Paper) -> str:
    shake, many = Quantity("duration", shake_s), float(count)
    if agitation == "shaken":
        return paper.many(
            "Once: connect, shake {shake}, disconnect.",
            "{rounds} rounds: connect, shake {shake}, disconnect.",
            count, rounds=many, shake=shake,
        )  # fmt: skip
    if agitation == "rocked":
        return paper.many(
            "Once: connect, rock {shake}, disconnect.",
            "{rounds} rounds: connect, rock {shake}, disconnect.",
            count, rounds=many, shake=shake,
        )  # fmt: skip
    return paper.many(
        "Once: connect, wait {shake}, disconnect.",
        "{rounds} rounds: connect, wait {shake}, disconnect.",
        count, rounds=many, shake=shake,
    )  # fmt: skip


def _back(temperature_c: float, paper: Paper) -> str:
    """Return where a vessel goes between rounds: as cold as its dial is for, and where nothing freezes it."""
    if temperature_c < ICE_C:
        return paper.say("Back into the cold, never into a freezer or salted ice.")
    if temperature_c <= ICE_BATH_C.high:
        return paper.say("Back into the ice.")
    return paper.say("Back into the cold, out of ice and freezer.")

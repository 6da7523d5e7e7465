"""One spec in many venues: the same CO2 in every bottle, and what it takes to get it there."""

from service.rollout.answer import Rollout, Spreads, VenueAnswer, refused_answer, rollout_end, venue_answer
from service.rollout.asked import RolloutRequest, Standard, VenueSite
from service.rollout.shared_work import KEPT, SharedWork, begin, begin_with_offer
from service.rollout.venue import Venue, check, venue

__all__ = [
    "KEPT",
    "Rollout",
    "RolloutRequest",
    "SharedWork",
    "Spreads",
    "Standard",
    "Venue",
    "VenueAnswer",
    "VenueSite",
    "begin",
    "begin_with_offer",
    "check",
    "refused_answer",
    "rollout_end",
    "venue",
    "venue_answer",
]

"""One spec in many venues: the same CO2 in every bottle, and what it takes to get it there."""

from service.rollout.asked import Asked, Standard
from service.rollout.differs import Differs
from service.rollout.in_vessel import InVessel
from service.rollout.shared_work import KEPT, SharedWork, begin, tried
from service.rollout.summary import Place, Spread, Spreads
from service.rollout.venue import Sentence, Venue, check, venue

__all__ = [
    "KEPT",
    "Asked",
    "Differs",
    "InVessel",
    "Place",
    "Sentence",
    "SharedWork",
    "Spread",
    "Spreads",
    "Standard",
    "Venue",
    "begin",
    "check",
    "tried",
    "venue",
]

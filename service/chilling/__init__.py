"""Chilling: how long filled vessels take to reach their goal, the ice and the power that takes, how cold they may get,
how soon they warm up again."""

from service.chilling.asked import ChillAsked, ChillIn, ChillPlanRequest, Measured
from service.chilling.case import lowest_safe_c, reached_c
from service.chilling.load import Load
from service.chilling.plan import Chilling, chill

__all__ = [
    "ChillAsked",
    "ChillIn",
    "ChillPlanRequest",
    "Chilling",
    "Load",
    "Measured",
    "chill",
    "lowest_safe_c",
    "reached_c",
]

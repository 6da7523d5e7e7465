"""Chilling: how long a filled vessel takes to reach its goal, how cold it may get, how soon it warms up again."""

from service.chilling.case import EnvironmentKey, Measured
from service.chilling.plan import Chilling, chill

__all__ = ["Chilling", "EnvironmentKey", "Measured", "chill"]

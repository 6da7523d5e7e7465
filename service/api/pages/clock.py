"""Times as people at a bench read them."""

from datetime import datetime
from math import ceil, floor

_TO_THE_SECOND_S = 600.0
"""Shorter durations are told to the second, longer ones to the minute."""
_TO_THE_MINUTE_S = 48 * 3600.0
"""From here on they are told to the hour."""


def clock(seconds: float, *, up: bool = False) -> str:
    """A duration as people say it; downwards unless told, so that a timer rings early, never late."""
    step = 1 if seconds < _TO_THE_SECOND_S else 60 if seconds < _TO_THE_MINUTE_S else 3600
    minutes, rest = divmod((ceil if up else floor)(seconds / step) * step, 60)
    hours, minutes = divmod(minutes, 60)
    if step == 3600:
        return f"{hours // 24} d {hours % 24} h"
    if hours:
        return f"{hours} h {minutes:02d} min"
    if minutes:
        return f"{minutes} min" + (f" {rest:02d} s" if rest else "")
    return f"{rest} s"


def day_and_time(moment: str) -> str:
    """A moment of an answer, in its own offset, to the minute below."""
    return f"{datetime.fromisoformat(moment):%Y-%m-%d %H:%M}"

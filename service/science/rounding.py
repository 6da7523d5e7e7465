"""Rounding to the safe side, for the values that a refusal offers."""

from math import floor


def rounded_down(value: float, step: float) -> float:
    """The multiple of step below value, so that a limit is still kept after a change of units."""
    return round(floor((value - 1e-9) / step) * step, 9)


def rounded_up(value: float, step: float) -> float:
    """The multiple of step above value."""
    return -rounded_down(-value, step)

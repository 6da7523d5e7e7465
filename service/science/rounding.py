"""Rounding to the safe side, for the values that a refusal offers."""

from math import floor


def rounded_down(value: float, step: float) -> float:
    """The last multiple of step that is not above value."""
    found = round(floor(value / step + 1e-9) * step, 9)  # 0.3 / 0.1 falls short of 3
    return found if found <= value else round(found - step, 9)


def rounded_up(value: float, step: float) -> float:
    """The first multiple of step that is not below value."""
    return 0.0 - rounded_down(-value, step)  # and never minus nothing

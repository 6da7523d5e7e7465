"""Rounding to the safe side, for the values that a refusal offers; and what rounding does to an amount."""

from math import floor, isclose, log10


def rounded_down(value: float, step: float) -> float:
    """Return the last multiple of step that is not above value."""
    found = round(floor(value / step + 1e-9) * step, 9)  # 0.3 / 0.1 falls short of 3
    return found if found <= value else round(found - step, 9)


def rounded_up(value: float, step: float) -> float:
    """Return the first multiple of step that is not below value."""
    return 0.0 - rounded_down(-value, step)  # and never minus nothing


def two_digits_down(value: float) -> float:
    """Return the last number of two digits that is not above value; value: over 0."""
    found = float(f"{value:.1e}")
    return found if found <= value else float(f"{found - 10.0 * _third_digit(value):.1e}")


def three_digits_down(value: float) -> float:
    """Return the last number of three digits that is not above value; value: 0 or more, infinity as it is."""
    found = float(f"{value:.2e}")
    return found if found <= value else float(f"{found - _third_digit(value):.2e}")


def three_digits_up(value: float) -> float:
    """Return the first number of three digits that is not below value; value: 0 or more, infinity as it is."""
    found = float(f"{value:.2e}")
    return found if found >= value else float(f"{found + _third_digit(value):.2e}")


def _third_digit(value: float) -> float:
    """Return the value of one in the third digit."""
    return 10.0 ** (floor(log10(value)) - 2)


def drift_percent(taken: float, exact: float) -> float:
    """Return how far a rounded amount is from the exact one [%]; the noise of binary fractions is no drift."""
    return 0.0 if isclose(taken, exact, rel_tol=1e-12) else 100.0 * (taken / exact - 1.0)

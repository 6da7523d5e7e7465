"""Straight lines between the points of a table."""

from bisect import bisect_right
from collections.abc import Sequence

Curve = Sequence[tuple[float, float]]


def value_at(curve: Curve, x: float) -> float:
    """Value on the line through the two points around x; the caller keeps x within the table.

    curve: two or more points (x, y), x rising
    """
    after = min(max(bisect_right(curve, (x,)), 1), len(curve) - 1)
    (x0, y0), (x1, y1) = curve[after - 1], curve[after]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)

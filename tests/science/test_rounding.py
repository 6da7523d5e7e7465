"""Rounding to the safe side."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.science.rounding import rounded_down, rounded_up


@pytest.mark.parametrize("value, step, down, up", [
    (2.0, 0.1, 2.0, 2.0), (0.3, 0.1, 0.3, 0.3), (2.01, 0.1, 2.0, 2.1), (-1.05, 0.1, -1.1, -1.0), (0.0, 0.5, 0.0, 0.0),
    (1.9999999995, 0.1, 1.9, 2.0), (185.4, 1.0, 185.0, 186.0),
])  # fmt: skip
def test_an_exact_multiple_stays_and_anything_else_goes_to_its_side(
    value: float, step: float, down: float, up: float
) -> None:
    assert (rounded_down(value, step), rounded_up(value, step)) == (down, up)


@given(value=st.floats(-1000.0, 1000.0), step=st.sampled_from([0.0001, 0.01, 0.1, 1.0]))
def test_it_is_never_on_the_other_side_nor_a_step_away(value: float, step: float) -> None:
    """Tolerance: the nine decimals that are kept."""
    assert value - step - 1e-9 <= rounded_down(value, step) <= value <= rounded_up(value, step) <= value + step + 1e-9

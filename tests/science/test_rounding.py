"""Rounding to the safe side, and what rounding does."""

from math import inf, isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.science.rounding import drift_percent, rounded_down, rounded_up, three_digits_down, three_digits_up


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


@pytest.mark.parametrize("value, down, up", [
    (1.0, 1.0, 1.0), (836.8, 836.0, 837.0), (9.996, 9.99, 10.0), (0.09991, 0.0999, 0.1), (1234.0, 1230.0, 1240.0),
    (2e-9, 2e-9, 2e-9), (0.0, 0.0, 0.0), (inf, inf, inf),
])  # fmt: skip
def test_three_digits_to_either_side(value: float, down: float, up: float) -> None:
    assert (three_digits_down(value), three_digits_up(value)) == (down, up)


@given(st.floats(1e-12, 1e12))
def test_three_digits_are_within_a_digit_and_on_their_side(value: float) -> None:
    """One in the third digit is at most a hundredth of the number."""
    assert 0.99 * value <= three_digits_down(value) <= value <= three_digits_up(value) <= 1.01 * value
    for found in (three_digits_down(value), three_digits_up(value)):
        assert isclose(float(f"{found:.2e}"), found, rel_tol=1e-15)


def test_drift_is_of_what_is_exact_and_noise_is_none() -> None:
    assert drift_percent(11.0, 10.0) == pytest.approx(10.0)
    assert drift_percent(0.1 + 0.2, 0.3) == 0.0

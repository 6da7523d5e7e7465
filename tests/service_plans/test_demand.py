"""Serves that are asked for, held against scipy and worked by hand."""

from math import sqrt

import pytest
from scipy import stats

from service.evening.demand import Covers, Demand, Nightly, normal_quantile, poisson_quantile, wanted
from service.notes import Notes

CHANCES = (0.01, 0.1, 0.5, 0.8, 0.9, 0.95, 0.99, 0.999, 0.9999)


@pytest.mark.parametrize("chance", CHANCES)
@pytest.mark.parametrize("mean", [0.02, 0.7, 3.0, 17.5, 40.0, 333.3, 5000.0, 70_000.0])
def test_poisson_quantile_is_that_of_scipy(chance, mean):
    assert poisson_quantile(chance, mean) == stats.poisson.ppf(chance, mean)


@pytest.mark.parametrize("chance", CHANCES)
@pytest.mark.parametrize("mean, deviation", [(40.0, 9.0), (80.0, 9.0 * sqrt(2.0)), (5.0, 0.3), (1000.0, 250.0)])
def test_normal_quantile_is_that_of_scipy(chance, mean, deviation):
    assert normal_quantile(chance, mean, deviation) == pytest.approx(stats.norm.ppf(chance, mean, deviation), rel=1e-12)


def test_two_nights_of_40_with_deviation_9_and_95_percent_are_101_serves():
    """80 + 1.645 x 9 x sqrt 2 = 100.9; by hand, the normal deviate from any table of it."""
    found = wanted(Demand(nightly=Nightly(40.0, 9.0, nights=2, chance_percent=95.0)), Notes())
    assert found.serves == 101
    assert found.basis.code == "nightly-normal"


@pytest.mark.parametrize(
    "demand, serves, code",
    [
        (Demand(serves=60), 60, "serves-stated"),
        (Demand(covers=Covers(120, 25.0, 1.5)), 45, "of-covers"),
        (Demand(covers=Covers(10, 33.0, 1.0)), 4, "of-covers"),
        (Demand(covers=Covers(100, 7.0, 1.0)), 7, "of-covers"),
        (Demand(nightly=Nightly(12.0, nights=1, chance_percent=50.0)), 12, "nightly-poisson"),
        (Demand(nightly=Nightly(2.0, 9.0, chance_percent=5.0)), 1, "nightly-normal"),
    ],
    ids=str,
)
def test_serves_are_whole_and_rounded_up(demand, serves, code):
    """Worked by hand: 120 x 0.25 x 1.5 = 45; 3.3 is 4; 7 is 7 in binary too; the median of a mean of 12 is 12."""
    found = wanted(demand, Notes())
    assert (found.serves, found.basis.code) == (serves, code)


def test_chance_that_is_not_stated_is_an_assumption():
    notes = Notes()
    found = wanted(Demand(nightly=Nightly(40.0)), notes, at="/drinks/0/demand")
    assert found.serves == stats.poisson.ppf(0.9, 40.0)
    assert [one.pointers for one in notes.assumptions] == [("/drinks/0/demand/nightly/chance_percent",)]

"""The serves that an evening asks of a drink: as stated, of the covers, or enough on most nights like it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import ceil, exp, floor, lgamma, log, sqrt
from statistics import NormalDist
from typing import Annotated

from service.declared import CODE, Declared, Params, Sentence, number, shape, whole
from service.limits.evening import CHANCE_PERCENT, MOST_SERVES
from service.notes import Notes, Value

NOISE = 1e-9
"""Relative; a whole number of serves but for binary fractions is that number."""


@dataclass(frozen=True)
class Covers:
    """The guests, the share of them that takes the drink, and how many each of those takes."""

    guests: Annotated[int, whole(low=1, high=5000)]
    share_percent: Annotated[float, number(above=0.0, high=100.0)]
    each: Annotated[float, number(above=0.0, high=20.0), "Of the drink, by a guest who takes it."]


@dataclass(frozen=True)
class Nightly:
    """The serves of one night as the till tells them; without a deviation they are counted as Poisson has it."""

    mean: Annotated[float, number(above=0.0, high=5000.0), "Serves a night."]
    standard_deviation: Annotated[float | None, number(low=0.0, high=5000.0), "Of the serves of one night."] = None
    nights: Annotated[int | None, whole(low=1, high=14), "That these vessels are for; 1 unless stated."] = None
    chance_percent: Annotated[
        float | None, number(low=1.0, high=99.99), "Wanted chance that there is enough; 90 unless stated."
    ] = None


@shape(exactly_one=True)
@dataclass(frozen=True)
class Demand:
    """The serves that are asked for, by exactly one of these."""

    serves: Annotated[int | None, whole(low=1, high=MOST_SERVES)] = None
    covers: Declared[Covers | None] = None
    nightly: Declared[Nightly | None] = None


@shape("DemandBasis")
@dataclass(frozen=True)
class Basis:
    """The way in which the serves that are asked for were found."""

    code: Annotated[str, CODE]
    text: Sentence
    params: Params = field(default_factory=dict)


@dataclass(frozen=True)
class Wanted:
    """The serves that are asked for, and how they were found."""

    serves: int
    basis: Basis


def wanted(demand: Demand, notes: Notes, *, at: str = "/demand") -> Wanted:
    """Return the whole serves that a demand asks for, rounded up.

    at: JSON Pointer of the demand
    """
    if demand.covers is not None:
        return _of_covers(demand.covers)
    if demand.nightly is not None:
        return _nightly(demand.nightly, notes, f"{at}/nightly")
    assert demand.serves is not None
    return _asked_for(demand.serves, "serves-stated", "As stated.", {})


def _of_covers(covers: Covers) -> Wanted:
    serves = covers.guests * covers.share_percent / 100.0 * covers.each
    text = "{share} % of {guests} guests, {each} each."
    params: dict[str, Value] = {
        "guests": float(covers.guests), "share": float(covers.share_percent), "each": float(covers.each),
    }  # fmt: skip
    return _asked_for(_up(serves), "of-covers", text, params)


def _nightly(nightly: Nightly, notes: Notes, at: str) -> Wanted:
    nights, chance = nightly.nights or 1, nightly.chance_percent
    if chance is None:
        chance = CHANCE_PERCENT
        notes.assume("wanted chance of enough, %", float(CHANCE_PERCENT), "common-practice", at=f"{at}/chance_percent")
    mean = nights * nightly.mean
    params: dict[str, Value] = {"mean": float(nightly.mean), "nights": float(nights), "chance": float(chance)}
    if nightly.standard_deviation is None:
        text = "Enough with a chance of {chance} % for {nights} nights of {mean} serves, counted as Poisson has it."
        return _asked_for(poisson_quantile(chance / 100.0, mean), "nightly-poisson", text, params)
    params["deviation"] = float(nightly.standard_deviation)
    text = (
        "Enough with a chance of {chance} % for {nights} nights of {mean} serves, deviation {deviation}, normally "
        "distributed and independent of each other."
    )
    serves = normal_quantile(chance / 100.0, mean, sqrt(nights) * nightly.standard_deviation)
    return _asked_for(_up(max(0.0, serves)), "nightly-normal", text, params)


def _asked_for(serves: int, code: str, text: str, params: Mapping[str, Value]) -> Wanted:
    return Wanted(max(1, serves), Basis(code, text, params))


def _up(serves: float) -> int:
    return ceil(serves * (1.0 - NOISE))


def normal_quantile(chance: float, mean: float, deviation: float) -> float:
    """Return the value that a normally distributed one does not pass with this chance.

    chance: above 0, below 1; deviation: 0 or more
    """
    return mean if deviation == 0.0 else mean + deviation * NormalDist().inv_cdf(chance)


def poisson_quantile(chance: float, mean: float) -> int:
    """Return the least k with P(X <= k) >= chance, of a Poisson variable.

    The probabilities are summed from where they are no longer nought in double precision, each from its logarithm.

    chance: above 0, below 1; mean: above 0
    """
    reach = 12.0 * sqrt(mean) + 40.0
    k = max(0, floor(mean - reach))
    total = 0.0
    while True:
        total += exp(k * log(mean) - mean - lgamma(k + 1.0))
        if total >= chance * (1.0 - NOISE) or k > mean + reach:
            return k
        k += 1

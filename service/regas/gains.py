"""Changes that help: the same vessel served otherwise, followed to its last glass without a re-gas."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from service import safety
from service.notes import Value
from service.regas.case import Case
from service.regas.results import Gain
from service.regas.serving import Runs
from service.science.units import Quantity
from service.science.vessel import PourManner

GENTLE: PourManner = "gentle"
LEAST_GAIN_G_PER_L = 1e-6
"""Less is rounding."""


def gains_of(case: Case, runs: Runs, again: Callable[[Case], Runs]) -> tuple[Gain, ...]:
    """Return every change that brings more, with the last glass it leads to.

    runs: the case as it is; again: follows a changed case
    raises: OutsideValidity
    """
    found = []
    if case.manner != GENTLE:
        found.append(Gain("pour-gently", "Pour gently, down the side of the glass.", runs.glass(-1, GENTLE)))
    tried = (Gain(one.code, one.text, again(one.case).glass(-1, case.manner), one.params) for one in _changes(case))
    found.extend(tried)
    least = runs.glass(-1, case.manner).typical + LEAST_GAIN_G_PER_L
    return tuple(gain for gain in found if gain.glass.typical > least)


class Served(NamedTuple):
    """A vessel that is served otherwise: the code and sentence of the change, and the case as changed."""

    code: str
    text: str
    params: Mapping[str, Value]
    case: Case


def _changes(case: Case) -> Iterator[Served]:
    coldest_c = safety.cold_c(case.setting.drink)
    if case.holding_c > coldest_c:
        colder = replace(case, holding_c=coldest_c, charged_c=min(case.charged_c, coldest_c))
        cold = Quantity("temperature", coldest_c)
        yield Served("hold-colder", "Charge it to the same level and hold it at {cold}.", {"cold": cold}, colder)
    if case.setting.vessel.is_keg:
        return
    if case.pours > 1:
        yield Served("open-less", "Pour two glasses at each opening.", {}, replace(case, pours_an_opening=2))
    if case.liquid_l / 2.0 >= case.pour_l:
        smaller = _halved(case)
        capacity = Quantity("volume", smaller.setting.vessel.capacity_ml)
        yield Served("smaller-vessels", "Bottle it in vessels of {capacity}.", {"capacity": capacity}, smaller)


def _halved(case: Case) -> Case:
    """Return the same drink in vessels of half the size, as full and with as small a share of air."""
    vessel, air = case.setting.vessel, case.setting.air
    if air.remaining_ml is not None:
        air = replace(air, remaining_ml=air.remaining_ml / 2.0)
    return replace(
        case, setting=replace(case.setting, vessel=replace(vessel, capacity_ml=vessel.capacity_ml / 2.0), air=air)
    )

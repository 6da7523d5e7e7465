"""The parts of a forecast, and changes that help: the same vessel served otherwise, to its last glass."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Annotated, NamedTuple

from service import safety
from service.declared import CO2, CODE, DURATION, MASS, PRESSURE, VOLUME, Declared, Params, Sentence, shape
from service.notes import Value
from service.regas.case import Case
from service.regas.serving import Runs
from service.science.band import Band
from service.science.units import Quantity
from service.science.vessel import PourManner


@dataclass(frozen=True)
class PourForecast:
    """One pour of the shift; pours and vessels are numbered from 1."""

    number: Declared[int]
    vessel: Declared[int]
    after_s: Annotated[float, DURATION, "Since the start of the shift."]
    at: Declared[datetime | None]
    regassed: Annotated[bool, "The vessel was re-gassed just before."]
    bottle: Annotated[Band, CO2, "Level in the vessel after this pour."]
    glass: Annotated[Band, CO2]
    gauge_pressure_bar: Annotated[Band, PRESSURE, "Of the closed vessel before this pour."]


@shape("FloorCrossing")
@dataclass(frozen=True)
class Crossing:
    """The first glass of this plan that is likely to fall below the floor; pours and vessels are numbered from 1."""

    pour: Declared[int]
    vessel: Declared[int]
    after_s: Annotated[float, DURATION, "Since the start of the shift."]
    at: Declared[datetime | None]


@dataclass(frozen=True)
class RegasAfter:
    """Re-gas a bottle after so many pours or so many minutes, whichever comes first.

    At most all that it holds or that the shift asks for.

    asked: glasses that are asked of it, until it is empty or the shift ends
    """

    pours: Declared[Band]
    minutes: Declared[Band]
    asked: int

    @property
    def usually_due(self) -> bool:
        """Tell whether typically a glass falls below the floor, and not at the low end of the band alone."""
        return self.pours.typical < self.asked


@shape("VesselTopUp")
@dataclass(frozen=True)
class RegasSettings:
    """The way to bring a bottle back: dial, time on the regulator while it is shaken, cold rest, gas."""

    squeeze_first: Annotated[bool, "Squeeze the air out and cap it, right before it is connected."]
    gauge_pressure_bar: Annotated[float, PRESSURE]
    shake_s: Annotated[float, DURATION]
    rest_s: Annotated[float, DURATION]
    co2_used_g: Annotated[Band, MASS]


@shape("Recharge")
@dataclass(frozen=True)
class FirstRegas(RegasSettings):
    """The first re-gas of a bottle. never_over_bar_gauge: the highest dial that passes then"""

    before_pour: Annotated[int, "Pour of that bottle, from 1."]
    never_over_bar_gauge: float


@dataclass(frozen=True)
class KegGlass:
    """One glass from a keg that is cut off from its gas, numbered from 1."""

    number: Declared[int]
    bottle: Annotated[Band, CO2, "Level in the keg after this pour."]
    glass: Annotated[Band, CO2]
    gauge_pressure_bar: Annotated[Band, PRESSURE, "Before this pour."]


@shape("KegWithoutGas")
@dataclass(frozen=True)
class WithoutGas:
    """A full keg poured down after its gas ran out: closed, from the level and the pressure that it was held at."""

    glasses: Annotated[Band, "Until nothing flows; fewest left still, most jolted."]
    on_floor: Annotated[Band, "Of them, those before the first below the floor."]
    left_ml: Annotated[float, VOLUME, "Drink that does not flow out."]
    levels: Declared[tuple[KegGlass, ...]]


@dataclass(frozen=True)
class RotationTurn:
    """Pours that one vessel serves in a row."""

    vessel: Declared[int]
    first_pour: Declared[int]
    last_pour: Declared[int]
    after_s: Annotated[float, DURATION]
    at: Declared[datetime | None]
    regas_before: Annotated[bool, "Re-gas the vessel before this turn."]


@shape("RegasGain")
@dataclass(frozen=True)
class Gain:
    """The effect of one change on the last glass of a vessel that is never re-gassed."""

    change: Annotated[str, CODE]
    text: Sentence
    glass: Annotated[Band, CO2]
    params: Params = field(default_factory=dict)

    @property
    def code(self) -> Annotated[str, CODE]:
        return self.change


@shape("RegasForecastBody")
@dataclass(frozen=True)
class Forecast:
    """A shift, pour by pour."""

    pours: Declared[tuple[PourForecast, ...]]
    floor_g_per_l: Annotated[float, CO2, "Lowest CO2 level wanted in the glass."]
    floor_crossed: Annotated[Crossing | None, "Absent where every glass is likely to make it."]
    rotation: Declared[tuple[RotationTurn, ...]]
    last_glass: Annotated[Band, CO2, "Of a vessel that is never re-gassed, to hold the gains against."]
    gains: Declared[tuple[Gain, ...]]
    regas_after: Annotated[RegasAfter | None, "Absent where no glass falls below the floor."] = None
    recharge: Declared[FirstRegas | None] = None
    hold_pressure_bar: Annotated[Band | None, PRESSURE, "Gauge pressure that a keg is held at."] = None
    without_gas: Annotated[WithoutGas | None, "Of kegs: what is lost if the gas runs out."] = None


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

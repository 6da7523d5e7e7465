"""The parts of a forecast."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated

from service.declared import CO2, CODE, DURATION, MASS, PRESSURE, VOLUME, Declared, Params, Sentence, shape
from service.science.band import Band


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
    """How to bring a bottle back: dial, time on the regulator while it is shaken, cold rest, gas."""

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
    """What one change makes of the last glass of a vessel that is never re-gassed."""

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

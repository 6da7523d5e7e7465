"""What a forecast comes to."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from service.notes import Value
from service.regas.serving import Served
from service.science.band import Band


@dataclass(frozen=True)
class PourForecast:
    """One pour of the shift; vessels and pours are numbered from 1."""

    number: int
    vessel: int
    after_s: float
    at: datetime | None
    regas_before: bool
    """The vessel was re-gassed just before."""
    bottle: Band
    """Level in the vessel after the pour [g/L]."""
    glass: Band
    gauge: Band
    """Of the closed vessel before the pour [bar]."""


@dataclass(frozen=True)
class Crossing:
    """The first glass of the plan below the floor, at typical rates; numbered from 1."""

    pour: int
    vessel: int
    after_s: float
    at: datetime | None


@dataclass(frozen=True)
class RegasAfter:
    """How many pours of one bottle make the floor, and how long they last.

    asked: glasses that are asked of it, until it is empty or the shift ends
    """

    pours: Band
    minutes: Band
    asked: int

    @property
    def usually_due(self) -> bool:
        """Whether typically a glass falls below the floor, and not at the low end of the band alone."""
        return self.pours.typical < self.asked


@dataclass(frozen=True)
class RegasSettings:
    """How to re-gas a bottle."""

    squeeze_first: bool
    dial_bar_gauge: float
    shake_s: float
    rest_s: float
    co2_used: Band
    """[g]"""


@dataclass(frozen=True)
class FirstRegas(RegasSettings):
    """The first re-gas of a bottle of a plan."""

    before_pour: int
    """Of that bottle, from 1."""


@dataclass(frozen=True)
class WithoutGas:
    """A keg that is poured down cut off from its gas."""

    flowing: Band
    """Glasses until it is at the air pressure."""
    on_floor: Band
    """Of them, those before the first below the floor."""
    left_l: float
    """Drink that stays in it."""
    glasses: tuple[Served, ...]


@dataclass(frozen=True)
class RotationTurn:
    """Which vessel serves which pours."""

    vessel: int
    first_pour: int
    last_pour: int
    after_s: float
    at: datetime | None
    regas_before: bool


@dataclass(frozen=True)
class Gain:
    """What one change makes of the last glass of a vessel that is never re-gassed."""

    change: str
    text: str
    glass: Band
    params: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True)
class Forecast:
    """A shift."""

    pours: tuple[PourForecast, ...]
    floor_g_per_l: float
    floor_crossed: Crossing | None
    regas_after: RegasAfter | None
    first_regas: FirstRegas | None
    hold: Band | None
    """Gauge pressure that a keg is held at [bar]."""
    without_gas: WithoutGas | None
    rotation: tuple[RotationTurn, ...]
    last_glass: Band
    """Of a vessel that is never re-gassed, to hold the gains against."""
    gains: tuple[Gain, ...]

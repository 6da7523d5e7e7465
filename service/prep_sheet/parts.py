"""What a prep sheet is asked with, and the parts it is composed of."""

from dataclasses import dataclass, field
from datetime import datetime

from service.acid import Solution
from service.batching import Batch, Fill, Price, Rounding, Size
from service.calibration import Calibration
from service.carbonation import Charging, SetPoints
from service.chilling import Chilling, EnvironmentKey
from service.drink import Spec
from service.regas import Forecast
from service.safety import Held
from service.science.band import Band
from service.science.units import UnitSystem
from service.science.vessel import Agitation
from service.site import Air, Shift, Site
from service.vessel import VesselGiven


@dataclass(frozen=True)
class CarbonationPlan:
    """How the drink is charged; None where the request is silent."""

    target_g_per_l: float | None = None
    temperature_c: float | None = None
    air: Air | None = None
    dial_bar_gauge: float | None = None
    charge_count: int | None = None
    as_needed: bool = False
    within_s: float | None = None
    held: Held | None = None
    shake_s: float | None = None
    rest_s: float | None = None
    agitation: Agitation | None = None
    connected: bool | None = None


@dataclass(frozen=True)
class ChillPlan:
    """How the batch is chilled; None where the request is silent."""

    environment: EnvironmentKey | None = None
    start_c: float | None = None


@dataclass(frozen=True)
class Asked:
    """A prep sheet as the request asks for it; None where it is silent.

    size: None for the whole serves of a shift that says how many an hour and for how long
    """

    spec: Spec
    size: Size | None = None
    vessel: VesselGiven | None = None
    fill: float | None = None
    site: Site | None = None
    carbonation: CarbonationPlan = field(default_factory=CarbonationPlan)
    chill: ChillPlan = field(default_factory=ChillPlan)
    shift: Shift | None = None
    rounding: Rounding | None = None
    calibration: Calibration | None = None
    prices: tuple[Price, ...] = ()
    made_at: datetime | None = None
    house_maximum_s: float | None = None
    lot: str | None = None
    units: UnitSystem = "metric"

    @property
    def now(self) -> datetime | None:
        """By which the age of the vessels is judged."""
        return self.made_at or (self.shift.starts_at if self.shift else None)


@dataclass(frozen=True)
class NamedSolution:
    """An acid solution and the component it is made for."""

    component: str
    solution: Solution


@dataclass(frozen=True)
class PrepSheet:
    """Everything for one batch.

    gas_g: CO2 from the cylinder to charge every vessel once, purges and losses included [g]
    forecast: None without a shift, or where the drink stays flat
    """

    asked: Asked
    batch: Batch
    fill: Fill
    solutions: tuple[NamedSolution, ...]
    chilling: Chilling
    set_points: SetPoints
    charging: Charging
    gas_g: Band
    forecast: Forecast | None

"""The request for a prep sheet and the parts that one is composed of, each chilled and charged by the same plan."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Annotated, Any, Literal, TypeVar

from service import carbonation, chilling, safety
from service.acid import Solution
from service.batching import Batch, Fill, Rounding, Size
from service.calibration import Calibration
from service.carbonation import CarbonationPlan, ChargesAsked, Charging, SetPoints, StandardCarbonation
from service.chilling import ChillAsked, Chilling
from service.declared import Declared, Inline, duration, items, shape, temperature, text
from service.draught import DraughtGiven, DraughtLine
from service.drink import Drink, Spec
from service.errors import Fault
from service.notes import Notes
from service.regas import Forecast
from service.request import Request
from service.science.band import Band
from service.site import EnvironmentKey, Price, Shift, Site
from service.vessel import FillShare, VesselGiven

Carbonated = TypeVar("Carbonated", bound=StandardCarbonation)


@shape("PrepChill")
@dataclass(frozen=True)
class ChillPlan:
    """The chilling of the batch; the defaults are those of /v1/chilling.

    environment_temperature_c, cooling_power_w: of the place, where the cold places of a house are known
    """

    environment: Declared[EnvironmentKey | None] = None
    start_temperature_c: Annotated[float | None, temperature(low=-15.0, high=45.0)] = None
    environment_temperature_c: float | None = None
    cooling_power_w: float | None = None


def one_vessel(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a vessel beside a size that names its own."""
    size = sent.get("size")
    if not isinstance(size, Mapping):
        return
    for name in ("vessel", "fill"):
        if "vessels" in size and name in sent:
            yield Fault(f"/{name}", "described-twice", "size names the vessels already; leave this out.")
    whole = size.get("whole_serves")
    if isinstance(whole, Mapping):
        for name in ("vessel", "fill"):
            if name in whole:
                text = "A sheet fills its own vessel: state this beside size."
                yield Fault(f"/size/whole_serves/{name}", "described-twice", text)


def sized(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find a request that does not say how much is made."""
    shift = sent.get("shift")
    if "size" in sent or (isinstance(shift, Mapping) and {"serves_per_hour", "lasts"} <= shift.keys()):
        return
    text = "State a size, or a shift with serves_per_hour and lasts: its whole serves are then the size."
    yield Fault("/size", "required", text)


def served_at(sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Find draught without its line, a line without draught, and a keg that is described twice."""
    serve_at, line = sent.get("serve_at"), sent.get("draught")
    if serve_at == "draught" and "draught" not in sent:
        yield Fault("/draught", "required", "State the line that it is served through: its segments.")
    if "draught" in sent and serve_at != "draught":
        yield Fault("/draught", "not-needed", "Of what is served on draught alone: state serve_at, draught.")
    size = sent.get("size")
    named = "vessel" in sent or "fill" in sent or (isinstance(size, Mapping) and "vessels" in size)
    if isinstance(line, Mapping) and "keg" in line and named:
        yield Fault("/draught/keg", "described-twice", "The vessel of the sheet is the keg; leave this out.")


@shape(rules=[one_vessel, sized, served_at])
@dataclass(frozen=True, kw_only=True)
class PrepSheetRequest(Request):
    """One spec, how much of it, in which vessels, where, and when it is served.

    Without a size it is the whole serves of the shift, where that says how many an hour and how long it lasts.
    """

    spec: Declared[Spec]
    size: Declared[Size | None] = None
    vessel: Declared[VesselGiven | None] = None
    fill: FillShare = None
    site: Declared[Site | None] = None
    carbonation: Declared[CarbonationPlan] = field(default_factory=CarbonationPlan)
    chill: Declared[ChillPlan] = field(default_factory=ChillPlan)
    shift: Declared[Shift | None] = None
    rounding: Declared[Rounding | None] = None
    prices: Annotated[tuple[Price, ...], items(41, least=0)] = ()
    calibration: Annotated[
        Calibration | None, "This bar's own constants; they narrow the bands and never relax a limit."
    ] = None
    made_at: Declared[datetime | None] = None
    house_maximum_s: Annotated[float | None, duration(high=10 * 365 * 86400.0)] = None
    lot: Annotated[str | None, text(64)] = None
    serve_at: Annotated[Literal["bottle", "draught"] | None, "bottle unless stated: from the vessel itself."] = None
    draught: Annotated[
        DraughtGiven | None,
        "The line of a drink on draught; its keg is the vessel of the sheet, its glass the serve unless stated.",
    ] = None

    @property
    def now(self) -> datetime | None:
        """The moment that the age of the vessels is judged by."""
        return self.made_at or (self.shift.starts_at if self.shift else None)


@dataclass(frozen=True)
class PrepSolution:
    """An acid solution, and the component it is made for."""

    component: Annotated[str, text(200)]
    solution: Inline[Solution]


@dataclass(frozen=True)
class Parts:
    """All that a sheet is composed of.

    gas_g: CO2 from the cylinder to charge every vessel once, purges and losses included [g]
    forecast: None without a shift, or where the drink stays flat
    line: of a drink on draught
    """

    asked: PrepSheetRequest
    batch: Batch
    fill: Fill
    solutions: tuple[PrepSolution, ...]
    chilling: Chilling
    set_points: SetPoints
    charging: Charging
    gas_g: Band
    forecast: Forecast | None
    line: DraughtLine | None = None


def chilled(
    plan: ChillPlan,
    drink: Drink,
    *,
    vessel: VesselGiven | None,
    vessel_count: int,
    fill: float,
    goal_c: float | None,
    notes: Notes,
) -> Chilling:
    """Chill the batch in its vessels, not charged yet, to the temperature that it is charged at.

    raises: Refused, SeveralRefused, OutsideValidity
    """
    asked = ChillAsked(
        vessel=vessel, fill=fill, start_temperature_c=plan.start_temperature_c, goal_temperature_c=goal_c,
        environment=plan.environment, environment_temperature_c=plan.environment_temperature_c,
        cooling_power_w=plan.cooling_power_w, vessel_count=vessel_count, chill_in="vessel",
    )  # fmt: skip
    return chilling.chill(drink, asked, notes)


def in_the_cold(plan: Carbonated, chill: ChillPlan, drink: Drink) -> Carbonated:
    """Return a plan with the temperature that its cold place reaches, where that is not the usual one to charge at."""
    if plan.temperature_c is not None or chill.environment is None:
        return plan
    usual_c = safety.cold_c(drink)
    cold_c = chilling.reached_c(usual_c, chill.start_temperature_c, chill.environment, chill.environment_temperature_c)
    return plan if cold_c == usual_c else replace(plan, temperature_c=cold_c)


def charged(
    plan: StandardCarbonation,
    drink: Drink,
    *,
    vessel: VesselGiven | None,
    fill: float,
    site: Site | None,
    calibration: Calibration | None = None,
    now: datetime | None,
    notes: Notes,
) -> Charging:
    """Charge the drink in its vessel.

    fill: share of brimful that is liquid; now: by which the age of the vessel is judged
    raises: Refused, SeveralRefused, OutsideValidity
    """
    asked = ChargesAsked(**vars(plan), vessel=vessel, fill=fill, site=site, calibration=calibration, now=now)
    return carbonation.charge(drink, asked, notes)

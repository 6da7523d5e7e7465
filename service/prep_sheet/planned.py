"""A drink chilled and charged as it is planned; whoever composes several vessels or venues plans it the same way."""

from datetime import datetime

from service import carbonation, chilling
from service.calibration import Calibration
from service.carbonation import Charging
from service.chilling import ChillAsked, Chilling
from service.drink import Drink
from service.notes import Notes
from service.prep_sheet.parts import CarbonationPlan, ChillPlan
from service.site import Site
from service.vessel import VesselGiven


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
    """The batch in its vessels, not charged yet, chilled to the temperature that it is charged at.

    raises: Refused, SeveralRefused, OutsideValidity
    """
    asked = ChillAsked(
        vessel=vessel, fill=fill, start_temperature_c=plan.start_c, goal_temperature_c=goal_c,
        environment=plan.environment, vessel_count=vessel_count, chill_in="vessel",
    )  # fmt: skip
    return chilling.chill(drink, asked, notes)


def charged(
    plan: CarbonationPlan,
    drink: Drink,
    *,
    vessel: VesselGiven | None,
    fill: float,
    site: Site | None,
    calibration: Calibration | None = None,
    now: datetime | None,
    notes: Notes,
) -> Charging:
    """The drink charged in its vessel.

    fill: share of brimful that is liquid; now: by which the age of the vessel is judged
    raises: Refused, SeveralRefused, OutsideValidity
    """
    return carbonation.charge(
        drink,
        vessel=vessel,
        fill=fill,
        temperature_c=plan.temperature_c,
        target_g_per_l=plan.target_g_per_l,
        dial_bar_gauge=plan.dial_bar_gauge,
        air=plan.air,
        charge_count=plan.charge_count,
        as_needed=plan.as_needed,
        within_s=plan.within_s,
        held=plan.held,
        shake_s=plan.shake_s,
        rest_s=plan.rest_s,
        agitation=plan.agitation,
        connected=plan.connected,
        site=site,
        calibration=calibration,
        now=now,
        notes=notes,
    )

"""A drink chilled and charged as it is planned; whoever composes several vessels or venues plans it the same way."""

from datetime import datetime

from service import carbonation, chilling
from service.calibration import Calibration
from service.carbonation import ChargesAsked, Charging, StandardCarbonation
from service.chilling import ChillAsked, Chilling
from service.drink import Drink
from service.notes import Notes
from service.prep_sheet.parts import ChillPlan
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
        vessel=vessel, fill=fill, start_temperature_c=plan.start_temperature_c, goal_temperature_c=goal_c,
        environment=plan.environment, environment_temperature_c=plan.environment_temperature_c,
        cooling_power_w=plan.cooling_power_w, vessel_count=vessel_count, chill_in="vessel",
    )  # fmt: skip
    return chilling.chill(drink, asked, notes)


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
    """The drink charged in its vessel.

    fill: share of brimful that is liquid; now: by which the age of the vessel is judged
    raises: Refused, SeveralRefused, OutsideValidity
    """
    asked = ChargesAsked(**vars(plan), vessel=vessel, fill=fill, site=site, calibration=calibration, now=now)
    return carbonation.charge(drink, asked, notes)

"""The drink in one kind of vessel: chilled anywhere, charged and poured at one venue."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import Annotated

from service import regas
from service.carbonation import Charging, WarmRoom, Worst
from service.chilling import Chilling
from service.declared import CO2, MASS, PRESSURE, Declared, shape
from service.drink import Drink
from service.notes import Notes
from service.prep_sheet import charged, chilled, in_the_cold
from service.regas import RegasAfter
from service.rollout.asked import Standard
from service.science.band import Band
from service.site import Shift, Site
from service.vessel import Vessel, VesselGiven


@shape("RolloutCharges")
@dataclass(frozen=True)
class VenueCharges:
    """The charging of a vessel at this venue, and the worst it could come to there."""

    count: Declared[int]
    co2_g_per_l: Annotated[Band, CO2, "In the vessel once it is charged; of a keg on the gas, at rest."]
    charges_to_target: Annotated[Band | None, "Absent where a bound is over 20."]
    never_over_bar_gauge: Annotated[
        float, PRESSURE, "The highest dial that passes, in reach of regulator and relief valve."
    ]
    worst: Declared[Worst]
    warm_room: Annotated[WarmRoom | None, "Absent beyond the gas equations."]
    co2_used_g: Annotated[Band, MASS, "From the cylinder, for each vessel, purging apart."]


@dataclass(frozen=True)
class InVessel:
    """One kind of vessel at a venue. regas_after: none without a shift either"""

    charging: Charging
    gauge_pressure_bar: Annotated[Band, PRESSURE, "The set-point: the dial that holds the target here."]
    glass_g_per_l: Annotated[Band | None, CO2, "In the first glass; absent where the drink stays flat."]
    regas_after: Annotated[RegasAfter | None, "Absent where none is due."]

    @cached_property
    def charges(self) -> Declared[VenueCharges]:
        made = self.charging
        return VenueCharges(
            count=made.planned.count,
            co2_g_per_l=made.level_g_per_l,
            charges_to_target=made.charges_to_target,
            never_over_bar_gauge=made.never_over_bar_gauge,
            worst=made.worst,
            warm_room=made.warm_room,
            co2_used_g=made.co2_used_g,
        )

    def regas_at(self, shift: Shift | None) -> datetime | None:
        """Return the moment of the first re-gas that is usually due, where the shift states its start."""
        after = self.regas_after
        if after is None or shift is None or shift.starts_at is None or not after.usually_due:
            return None
        return shift.starts_at + timedelta(minutes=after.minutes.typical)

    @property
    def vessel(self) -> Vessel:
        return self.charging.planned.setting.vessel

    @property
    def co2_g_per_l(self) -> Band:
        """The CO2 level in the vessel once it is charged."""
        return self.charging.level_g_per_l


def charged_in(
    drink: Drink,
    given: VesselGiven | None,
    share: float,
    standard: Standard,
    site: Site,
    *,
    target_g_per_l: float | None,
    serve_ml: float,
    notes: Notes,
) -> InVessel:
    """Charge one kind of vessel at a venue as the standard says.

    given: as the request names it; share: of brimful that is liquid
    target_g_per_l: that of a highball, or the most the vessel stands, unless stated
    raises: Refused, SeveralRefused, OutsideValidity
    """
    plan = replace(in_the_cold(standard.carbonation, standard.chill, drink), target_g_per_l=target_g_per_l)
    charging = charged(plan, drink, vessel=given, fill=share, site=site, now=standard.now, notes=notes)
    made = charging.planned
    at_rest = made.setting.set_point_bar_gauge(made.liquid, made.target_g_per_l)
    over = charging.gauge_pressure_bar - at_rest  # of a charge by the clock or in a time, which rests under its dial
    dial = made.setting.set_point_band(made.liquid, made.target_g_per_l, typical=at_rest).map(lambda end: end + over)
    glass, regas_after = _poured(charging, standard, serve_ml, notes)
    return InVessel(charging, dial, glass, regas_after)


def chilled_in(
    drink: Drink, given: VesselGiven | None, count: int, share: float, standard: Standard, *, notes: Notes
) -> Chilling:
    """Chill so many of one kind of vessel as the standard says; where they stand does not count.

    raises: Refused, SeveralRefused, OutsideValidity
    """
    goal_c = standard.carbonation.temperature_c
    return chilled(standard.chill, drink, vessel=given, vessel_count=count, fill=share, goal_c=goal_c, notes=notes)


def _poured(
    charging: Charging, standard: Standard, serve_ml: float, notes: Notes
) -> tuple[Band | None, RegasAfter | None]:
    """Return the first glass, and the re-gas interval of a shift."""
    plan, level = charging.planned, charging.level_g_per_l
    if charging.stays_flat:
        text = "Charge it higher: the charges come to no more than an open drink holds, and it stays flat."
        notes.caution("stays-flat", "warning", text, at="/target")
        return None, None
    if standard.shift is None:
        glass = regas.first_glass(
            plan.setting, charged_c=plan.temperature_c, co2_g_per_l=level, pour_ml=serve_ml, notes=notes
        )
        return glass, None
    found = regas.interval(
        plan.setting, charged_c=plan.temperature_c, co2_g_per_l=level, pour_ml=serve_ml, shift=standard.shift,
        notes=notes,
    )  # fmt: skip
    return found.first_glass, found.regas_after

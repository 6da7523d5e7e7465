"""The drink in one kind of vessel: chilled anywhere, charged and poured at one venue."""

from dataclasses import dataclass, replace

from service import regas
from service.carbonation import Charging
from service.chilling import Chilling
from service.drink import Drink
from service.notes import Notes
from service.prep_sheet import charged, chilled
from service.regas import RegasAfter
from service.rollout.asked import Standard
from service.science.band import Band
from service.site import Site
from service.vessel import Vessel, VesselGiven


@dataclass(frozen=True)
class InVessel:
    """One kind of vessel at a venue.

    dial_bar_gauge: the set-point that holds the target here
    glass: level in the first glass [g/L]; None where the drink stays flat
    regas_after: None without a shift, or where none is due
    """

    charging: Charging
    dial_bar_gauge: Band
    glass: Band | None
    regas_after: RegasAfter | None

    @property
    def vessel(self) -> Vessel:
        return self.charging.planned.setting.vessel

    @property
    def co2_g_per_l(self) -> Band:
        """Level in the vessel once it is charged."""
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
    plan = replace(standard.carbonation, target_g_per_l=target_g_per_l)
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
    """The first glass, and the re-gas interval of a shift."""
    plan, level = charging.planned, charging.level_g_per_l
    if charging.stays_flat:
        text = "The charges come to no more than an open drink holds; it stays flat."
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

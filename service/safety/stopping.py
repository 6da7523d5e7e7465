"""A charge by the clock: the vessels that it is allowed in, and the weight at which its check stops a bottle."""

from dataclasses import replace
from math import hypot

from service.errors import Fact, Fault, Nearest, Refused
from service.limits.safety import GAUGE_ERROR_BAR
from service.safety.closed import ClosedVessel, highest
from service.science.constants import CO2_G_PER_MOL
from service.science.units import Quantity
from service.science.vessel import Warming
from service.vessel import Vessel, may_be_timed


def check_may_be_timed(vessel: Vessel, *, at: str = "/held") -> None:
    """Refuse a timed charge in anything but a small PET bottle: the trade does it in no other.

    raises: Refused ("timed-charging")
    """
    if may_be_timed(vessel):
        return
    text = "Hold the dial until the drink is at rest: only a PET bottle of up to 1.5 l is charged by the clock."
    raise Refused("timed-charging", [Fault(at, "not-timed", text)], nearest=[Nearest(at, "full")])


def check_stop(target_g_per_l: float, stop_g_per_l: float, *, at: str = "/target") -> None:
    """Refuse a target over the level at which the check stops a bottle.

    stop_g_per_l: 0 or less where there is no such level
    raises: Refused ("over-vessel-limit")
    """
    if target_g_per_l <= stop_g_per_l + 1e-9:
        return
    stop = Quantity("co2", max(0.0, stop_g_per_l), "down")
    text = "A charge by the clock is checked bottle by bottle and stopped at {stop}, which is under this target."
    nearest = [Nearest(at, stop)] if stop_g_per_l >= 0.1 else []
    fault = Fault(at, "stop-below-target", text, (("stop", stop),))
    raise Refused("over-vessel-limit", [fault], facts=[Fact("stop_at", stop)], nearest=nearest)


def most_held_mol(closed: ClosedVessel, air_mol: float, scale_g: float) -> float:
    """Return the most CO2 in the closed vessel with which it stays within its limit in the warm room, judged by weight.

    Judged with all that a scale may have missed, as a reading of the same weight is. Beside the model: the bottle is
    filled past the line, less stays dissolved when warm, no air was taken out. Independent causes by root of the
    squares.

    air_mol: air that was left in it [mol]; scale_g: step of the scale [g]
    returns: [mol], 0 where there is none
    raises: OutsideValidity
    source: GUM section 5.1 for the band
    """
    nominal, fuller = _with_air(closed.nominal, air_mol), _with_air(closed.worst_cases.fuller, air_mol)
    limit_bar = closed.vessel.closed_limit_bar_gauge
    airy, scale_mol = replace(closed, air_share=1.0).nominal, scale_g / CO2_G_PER_MOL

    def excess_bar(shown_mol: float) -> float:
        """Return how far a bottle that shows so much CO2 is over its limit once warm [bar]."""
        co2_mol = shown_mol + scale_mol
        typical = nominal.warmed_bar_gauge(nominal.warm, co2_mol)
        worse = (
            nominal.warmed_bar_gauge(closed.worst_cases.warm_least_soluble, co2_mol),
            fuller.warmed_bar_gauge(fuller.warm, co2_mol),
            airy.warmed_bar_gauge(airy.warm, co2_mol),
        )
        reach = typical + hypot(*(max(0.0, end - typical) for end in worse))
        return max(nominal.beyond_bar(max(typical, *worse)), reach - limit_bar)

    most_mol = nominal.charged_mol(limit_bar + GAUGE_ERROR_BAR)  # cold under that it is far past it
    return max(0.0, highest(excess_bar, low=0.0, high=most_mol))


def _with_air(warming: Warming, air_mol: float) -> Warming:
    """Return the vessel with as much air in it."""
    return replace(warming, air_mol=air_mol)

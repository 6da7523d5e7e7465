"""A vessel that is charged already, judged by its gauge, its weight or its log; and a charge that the clock stops."""

from dataclasses import replace
from math import hypot, inf, isfinite

from service.drink import Drink
from service.errors import Fact, Fault, Nearest, Refused
from service.limits.safety import GAUGE_ERROR_BAR, RETIRING_C
from service.notes import Notes, Value
from service.safety.closed import ClosedVessel, highest
from service.safety.fitness import lowest_charging_c
from service.safety.pressure import Judgement, warn_near_closed_limit
from service.science.constants import CO2_G_PER_MOL
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.units import Quantity
from service.science.validity import OutsideValidity
from service.science.vessel import Warming
from service.vessel import Vessel, may_be_timed

THAW_FIRST = (
    "Do not touch, open, move or shake it: let it thaw where it stands, upright, in the cold and behind a barrier, and "
    "vent it only once no ice is left, slowly, away from faces. A cap is no relief valve."
)
"""Advice for a closed vessel whose drink may hold ice; common practice, no source."""
_OVER_NOW = (
    "The gauge is over the limit of this {vessel}, {limit}. Keep everyone away and ask a competent person. Do not "
    "touch, carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is "
    "cold, slowly, away from faces. A cap is no relief valve. The maker's rating, local code and a competent person "
    "decide; this is arithmetic, not approval."
)
_OVER_WARM = (
    "This {vessel} could reach {reached} at {room}; its limit is {limit}. Do not touch, carry or shake it: cool it "
    "where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away from faces. A cap "
    "is no relief valve. The maker's rating, local code and a competent person decide; this is arithmetic, not "
    "approval."
)
_OVER_UNTIL = (
    "This {vessel} could reach {reached} at {room}; its limit is {limit}. Do not touch, carry or shake it: cool it "
    "where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away from faces. A cap "
    "is no relief valve. It is within its limit with {dial} on the gauge, at rest at {temperature}. The maker's "
    "rating, local code and a competent person decide; this is arithmetic, not approval."
)
_BEYOND = (
    "This {vessel} could pass {reached} at {room}, where the gas equations end; its limit is {limit}. Do not touch, "
    "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
    "slowly, away from faces. A cap is no relief valve. The maker's rating, local code and a competent person decide; "
    "this is arithmetic, not approval."
)
_BEYOND_UNTIL = (
    "This {vessel} could pass {reached} at {room}, where the gas equations end; its limit is {limit}. Do not touch, "
    "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
    "slowly, away from faces. A cap is no relief valve. It is within its limit with {dial} on the gauge, at rest at "
    "{temperature}. The maker's rating, local code and a competent person decide; this is arithmetic, not approval."
)


def caution_standing(judgement: Judgement, gauge_bar: float | None, notes: Notes, *, at: str | tuple[str, ...]) -> None:
    """Tell a danger where the vessel is over its limit, or could be once warm; warn near it.

    judgement: of the gauge at rest, or of the level that it stands for; gauge_bar: None where none was read
    """
    limit_bar = judgement.vessel.closed_limit_bar_gauge
    if not has_gas_cushion(judgement):
        caution_no_cushion(notes, at=at)
    reached = min(could_reach_bar_gauge(judgement), judgement.equations_to_bar_gauge)
    vessel: dict[str, Value] = {"vessel": judgement.vessel.said, "limit": Quantity("pressure", limit_bar, "down")}
    warm: dict[str, Value] = {
        "reached": Quantity("pressure", reached, "up"),
        "room": Quantity("temperature", judgement.warm_room_c),
    }
    if gauge_bar is not None and gauge_bar > limit_bar:
        notes.caution("over-limit-now", "danger", _OVER_NOW, at=at, **vessel)
    elif not has_gas_cushion(judgement):
        return
    elif judgement.reached_bar_gauge > limit_bar:
        until = _within_limit(judgement)
        text = _OVER_UNTIL if until else _OVER_WARM
        if not isfinite(judgement.reached_bar_gauge):
            text = _BEYOND_UNTIL if until else _BEYOND
        notes.caution("over-vessel-limit", "danger", text, at=at, **vessel, **warm, **until)
    else:
        warn_near_closed_limit(judgement, notes, at)


def could_reach_bar_gauge(judgement: Judgement) -> float:
    """Return the pressure that it could reach once warm [bar gauge]; infinite past the equations, or without a cushion.

    raises: OutsideValidity, but not for pressure or fill
    """
    return judgement.reached_bar_gauge if has_gas_cushion(judgement) else inf


def has_gas_cushion(judgement: Judgement) -> bool:
    """Tell whether the drink, once warm, leaves the vessel some gas."""
    try:
        _ = judgement.reached_bar_gauge
    except OutsideValidity as outside:
        if outside.quantity != "fill":
            raise
        return False
    return True


def caution_no_cushion(notes: Notes, *, at: str | tuple[str, ...]) -> None:
    """Tell a danger of a vessel that its drink fills once it is warm: no pressure can be told of it."""
    text = (
        "Treat it as over its limit: once warm, the drink leaves it no cushion of gas. Do not touch, carry or shake "
        "it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away "
        "from faces. A cap is no relief valve. Ask a competent person."
    )
    notes.caution("no-headspace", "danger", text, at=at)


def _within_limit(judgement: Judgement) -> dict[str, Value]:
    """Return the gauge at rest up to which the vessel stays within its limit, where there is one, for a sentence."""
    stands_to = replace(judgement.closed, start_co2_g_per_l=0.0).stands_to_bar_gauge
    if stands_to <= 0.0:
        return {}
    return {
        "dial": Quantity("pressure", stands_to, "down"),
        "temperature": Quantity("temperature", judgement.closed.temperature_c),
    }


def check_thawed(drink: Drink, temperature_c: float, *, at: str = "/temperature") -> None:
    """Refuse a reading of a drink that may hold ice; nothing is offered in its place, and no one is told to cool it.

    raises: Refused ("would-freeze")
    """
    lowest = Quantity("temperature", lowest_charging_c(drink), "up")
    if lowest.value <= temperature_c:
        return
    text = (
        "Under {lowest} there may be ice in it, and no reading tells its level. Do not touch, open, move or shake it: "
        "let it thaw where it stands, upright, in the cold and behind a barrier, and vent it only once no ice is left, "
        "slowly, away from faces. A cap is no relief valve."
    )
    fault = Fault(at, "may-hold-ice", text, (("lowest", lowest),))
    raise Refused("would-freeze", [fault], facts=[Fact("lowest", lowest)])


def beyond_equations(outside: OutsideValidity, at: str) -> Refused:
    """Return the refusal of a reading whose pressure no equation here covers; nothing is offered in its place.

    raises: OutsideValidity, the one given, where it is not of a pressure or of a fill that nothing cushions once warm
    """
    if outside.quantity == "fill":
        text = (
            "Treat it as over its limit: once warm, the drink leaves it no cushion of gas. Do not touch, carry or "
            "shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
            "slowly, away from faces. A cap is no relief valve. Ask a competent person."
        )
        return Refused("impossible-reading", [Fault("/fill", "beyond-equations", text)])
    if outside.quantity != "pressure":
        raise outside
    limit = Quantity("pressure", GAS_PRESSURE_LIMIT_BAR_ABS)
    text = (
        "Treat it as over its limit: this means {limit} absolute or more, where the gas equations end. Do not touch, "
        "carry or shake it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, "
        "slowly, away from faces. A cap is no relief valve. Ask a competent person."
    )
    fault = Fault(at, "beyond-equations", text, (("limit", limit),))
    return Refused("impossible-reading", [fault], facts=[Fact("equations_to", limit)])


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

    most_mol = nominal.charged_mol(limit_bar + GAUGE_ERROR_BAR)  # so much is far past the limit once warm
    return max(0.0, highest(excess_bar, low=0.0, high=most_mol))


def _with_air(warming: Warming, air_mol: float) -> Warming:
    """Return the vessel with as much air in it."""
    return replace(warming, air_mol=air_mol)


def retired_by_warmth(vessel: Vessel, temperature_c: float, notes: Notes, *, at: str) -> bool:
    """Tell whether a closed vessel that holds pressure was too warm to be charged again; a caution says so."""
    if vessel.material != "pet" or temperature_c <= RETIRING_C:
        return False
    text = "Retire it once it is empty: a bottle that was under pressure over {temperature} is not charged again."
    notes.caution("retire-after-warmth", "warning", text, at=at, temperature=Quantity("temperature", RETIRING_C))
    return True

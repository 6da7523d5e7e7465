"""All that is chilled together: the heat it holds, the ice it melts, the power it asks of a cold place."""

from dataclasses import dataclass
from typing import Annotated

from service.chilling.case import Case
from service.declared import MASS
from service.errors import Fact, Fault, Nearest, Refused, Term
from service.limits.safety import THERMOMETER_ERROR_C
from service.limits.serving import ICE_FETCHED
from service.notes import Notes
from service.science import mixture
from service.science.band import Band, combine
from service.science.mixture import ENVIRONMENTS, HEAT_CAPACITY_SPREAD
from service.science.rounding import rounded_up
from service.science.units import Quantity


@dataclass(frozen=True)
class Load:
    """The load that a chill puts on its cold place; without ice_needed_g where no ice melts."""

    heat_kj: Annotated[Band, "That leaves all the drink and its vessels, in kilojoules."]
    power_needed_w: Annotated[Band, "Mean power, in watts, that chills all the vessels as fast as one alone."]
    ice_needed_g: Annotated[Band | None, MASS, "What melts, the share of the room included; of a bath of ice."] = None

    @property
    def ice_to_fetch_g(
        self,
    ) -> Annotated[float | None, MASS, "At least twice what may melt: as much again is left at the end."]:
        """Ice to fetch, up to the next 100 g [g]."""
        return None if self.ice_needed_g is None else rounded_up(ICE_FETCHED * self.ice_needed_g.high, 100.0)


def load_of(case: Case, alone_s: Band, notes: Notes) -> Load:
    """Return the load of all the vessels.

    alone_s: time of one vessel by itself [s]
    """
    heat = _heat_kj(case)
    power = _per_s(heat, alone_s)
    to_room = ENVIRONMENTS[case.place].to_room
    if to_room is None:
        return Load(heat, power)
    shares = Term("{typical} ({low} to {high})", typical=to_room.typical, low=to_room.low, high=to_room.high)
    notes.assume("ice that the room melts, over what the load melts", shares, "estimate", at="/environment")
    of_load = heat.map(mixture.ice_melted_g)
    with_room = 1.0 + to_room.typical
    by_load = (of_load.low * with_room, of_load.high * with_room)
    by_room = (of_load.typical * (1.0 + to_room.low), of_load.typical * (1.0 + to_room.high))
    melts = combine(of_load.typical * with_room, [by_load, by_room])
    return Load(heat, power, melts)


def _heat_kj(case: Case) -> Band:
    """Return the heat that leaves drink and vessels [kJ]; none where the drink is at its goal.

    Q = n [m c (T0 - T1) + C_wall (T0 - T1)], the specific heat and the temperature read as well as they are known
    """
    fall_c = case.start_c - case.goal_c
    if fall_c <= 0.0:
        return Band(0.0, 0.0, 0.0)
    each = mixture.heat_to_remove_kj(case.filled.masses, start_c=case.start_c, goal_c=case.goal_c)
    typical = case.vessel_count * (each + case.filled.wall.heat_capacity_kj_per_k * fall_c)
    read = (typical * (1.0 - THERMOMETER_ERROR_C / fall_c), typical * (1.0 + THERMOMETER_ERROR_C / fall_c))
    known = (typical * (1.0 - HEAT_CAPACITY_SPREAD), typical * (1.0 + HEAT_CAPACITY_SPREAD))
    band = combine(typical, [read, known])
    return Band(max(0.0, band.low), typical, band.high)


def _per_s(heat_kj: Band, time_s: Band) -> Band:
    """Return the mean power [W]; none where nothing is to be done."""
    if time_s.high == 0.0:
        return Band(0.0, 0.0, 0.0)
    low, typical, high = heat_kj.low / time_s.high, heat_kj.typical / time_s.typical, heat_kj.high / time_s.low
    return Band(1000.0 * low, 1000.0 * typical, 1000.0 * high)


def loaded_s(case: Case, load: Load, alone_s: Band, notes: Notes) -> Band:
    """Return the time with all the load: that of one vessel, or of the heat by the power of the place, if longer.

    t = max(t_alone, Q/P)

    returns: [s]
    source: energy balance
    """
    cools = _cools_w(case, notes)
    if cools is None or alone_s.high == 0.0:
        return alone_s
    heat = load.heat_kj
    low, typical, high = (
        1000.0 * kj / w for kj, w in ((heat.low, cools.high), (heat.typical, cools.typical), (heat.high, cools.low))
    )
    if typical > alone_s.typical:
        text = (
            "Spread the load over more places, chill it in turns or the day before, or use ice and water: to be as "
            "quick as one vessel alone, {alone}, the cold place would have to take out {needed} W."
        )
        needed = float(rounded_up(load.power_needed_w.typical, 1.0))
        notes.caution("load-sets-the-time", "warning", text, at="/cooling_power_w", needed=needed,
                      alone=Quantity("duration", alone_s.typical))  # fmt: skip
    return Band(max(low, alone_s.low), max(typical, alone_s.typical), max(high, alone_s.high))


def _cools_w(case: Case, notes: Notes) -> Band | None:
    """Return the power of the place as stated, or as such places have it [W]; None where ice chills."""
    usual = ENVIRONMENTS[case.place].cools_w
    if usual is None:
        if case.cooling_power_w is not None:
            text = "Ice takes the heat out here, not a machine: the cooling power is not used."
            notes.caution("power-not-used", "info", text, at="/cooling_power_w")
        return None
    if case.cooling_power_w is not None:
        return Band(case.cooling_power_w, case.cooling_power_w, case.cooling_power_w)
    stated = Term("{typical} ({low} to {high})", typical=usual.typical, low=usual.low, high=usual.high)
    notes.assume("cooling power of the place, W", stated, "estimate", at="/cooling_power_w")
    return usual


def check_ice(case: Case, load: Load, notes: Notes) -> None:
    """Refuse a goal that the stated ice cannot reach, and warn where it may not.

    raises: Refused ("unreachable")
    """
    if case.ice_g is None:
        return
    needed, fetch = load.ice_needed_g, load.ice_to_fetch_g
    if needed is None or fetch is None:
        notes.caution("ice-not-used", "info", "Leave the ice out: none chills in this place.", at="/ice")
        return
    ice, melts = Quantity("mass", case.ice_g, "down"), Quantity("mass", rounded_up(needed.typical, 100.0))
    goal, enough = Quantity("temperature", case.goal_c), Quantity("mass", fetch, "up")
    reached = Quantity("temperature", _reached_c(case, needed))
    if case.ice_g < needed.low:
        text = (
            "Fetch {enough} of ice, or chill fewer vessels at a time: {ice} is gone before the drink is at {goal}, "
            "with the drink near {reached}. About {melts} melts."
        )
        params = (("ice", ice), ("goal", goal), ("reached", reached), ("melts", melts), ("enough", enough))
        facts = [Fact("ice", ice), Fact("ice_needed", melts), Fact("ice_to_fetch", enough), Fact("reached", reached)]
        raise Refused("unreachable", [Fault("/ice", "too-little-ice", text, params)], facts=facts,
                      nearest=[Nearest("/ice", enough)])  # fmt: skip
    if case.ice_g < fetch:
        text = (
            "Fetch {enough} of ice, or chill fewer vessels at a time: {ice} may not last, about {melts} melts, and as "
            "much again should be left at the end."
        )
        notes.caution("little-ice", "warning", text, at="/ice", ice=ice, melts=melts, enough=enough)


def _reached_c(case: Case, needed: Band) -> float:
    """Return the temperature of the drink once the ice is gone, if all vessels cool alike [degC]."""
    done = (case.ice_g or 0.0) / needed.typical
    return case.start_c - min(1.0, done) * (case.start_c - case.goal_c)

"""How a vessel is charged to a target: the dial, the charges, what it comes to, and what would help."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property, partial
from math import isfinite
from typing import TypeVar

from service import safety
from service.calibration import Calibration
from service.carbonation.advice import Advice, advised
from service.carbonation.cautions import say_how_far, warn_overfull
from service.carbonation.runs import (
    REACHED_SHARE,
    Charged,
    Plan,
    Runs,
    charges_needed,
    days_needed,
    level_g_per_l,
    rest_gauge_bar,
    rested,
    runs,
    used_g,
)
from service.carbonation.target import start_of, target_of
from service.drink import Drink
from service.errors import Fault, Nearest, Refusals, Refused
from service.notes import Notes
from service.safety import Closed, Judgement
from service.science.band import Band
from service.science.constants import CO2_G_PER_MOL
from service.science.rounding import rounded_down
from service.science.units import Quantity
from service.science.vessel import Agitation, still_level_mol_per_l
from service.setting import Setting, check_target, set_point_judged, setting_of, within_limits, workable_target
from service.site import Air, Site
from service.vessel import VesselGiven

T = TypeVar("T")

CHARGES = 3
"""Common practice, no source (2 to 4)."""
SHAKE_S = 30.0
"""Common practice, no source (15 to 45)."""
REST_S = 60.0
"""Common practice, no source (60 to 180)."""
STILL: Agitation = "still"
SHAKEN: Agitation = "shaken"


@dataclass(frozen=True)
class Charging:
    """Gauge pressures are in bar. What only some who charge a vessel ask for is worked out when it is asked for.

    judgement: of the dial; made: the charges of the plan; at_rest: something of the vessel once they are over
    """

    plan: Plan
    judgement: Judgement
    made: Runs
    at_rest: Callable[[Callable[[Charged], float]], Band]
    level_g_per_l: Band
    """CO2 in the vessel that is charged; of a keg that stays on the gas, at rest."""
    charges_to_target: Band
    """Infinite at an end that no number of charges up to 20 reaches."""
    days_to_target: Band | None
    """On the gas after the charges; of a connected keg only, infinite where it never gets there."""
    co2_used_g: Band
    """Up to the same moment."""

    @property
    def dial_bar_gauge(self) -> float:
        return self.plan.dial_bar_gauge

    @property
    def never_over_bar_gauge(self) -> float:
        return self.judgement.never_over_bar_gauge

    @property
    def warm_room_c(self) -> float:
        return self.judgement.warm_room_c

    @property
    def warm_bar_gauge(self) -> Band:
        """What the limits are judged by: after full equilibrium with the dial, in the warm room."""
        return self.judgement.worst

    @property
    def minutes(self) -> float:
        return self.plan.count * (self.plan.shake_s + self.plan.rest_s) / 60.0

    @cached_property
    def charges_g_per_l(self) -> tuple[Band, ...]:
        """After each charge."""
        return tuple(self.made.band(n, level_g_per_l) for n in range(1, self.plan.count + 1))

    @cached_property
    def rest_bar_gauge(self) -> Band:
        """After the charges, closed and at rest, still cold; of a connected keg, at rest under the dial."""
        return self.at_rest(partial(rest_gauge_bar, self.plan))

    @cached_property
    def advice(self) -> tuple[Advice, ...]:
        """What helps where the target is not reached."""
        plan, days = self.plan, self.days_to_target
        enough = self.charges_g_per_l[-1].typical >= REACHED_SHARE * plan.target_g_per_l
        reached = isfinite(days.typical) if days is not None else enough
        return () if reached else advised(plan, self.made, self.judgement)

    @property
    def stays_flat(self) -> bool:
        """Typically no more CO2 than an open drink holds."""
        still = still_level_mol_per_l(self.plan.liquid, ambient_bar=self.plan.setting.ambient_bar)
        return self.level_g_per_l.typical <= CO2_G_PER_MOL * still


def charge(  # noqa: PLR0913 - a charge is described by this many things, each of which a request may leave out
    drink: Drink,
    *,
    vessel: VesselGiven | None = None,
    fill: float | None = None,
    temperature_c: float | None = None,
    target_g_per_l: float | None = None,
    start_co2_g_per_l: float | None = None,
    dial_bar_gauge: float | None = None,
    air: Air | None = None,
    charge_count: int | None = None,
    as_needed: bool = False,
    shake_s: float | None = None,
    rest_s: float | None = None,
    agitation: Agitation | None = None,
    connected: bool | None = None,
    site: Site | None = None,
    calibration: Calibration | None = None,
    now: datetime | None = None,
    notes: Notes,
) -> Charging:
    """Charge a vessel: what each charge comes to, and whether the vessel stands it.

    as_needed: as many charges as reach the target at typical uptake, up to MOST_CHARGES, in place of a count
    now: by which the age of the vessel is judged
    dial_bar_gauge: the set-point of the target unless stated
    connected: stays on the gas between charges and after; kegs only
    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    setting = setting_of(
        drink, vessel=vessel, fill=fill, air=air, site=site, calibration=calibration, now=now, notes=notes,
        refusals=refusals,
    )  # fmt: skip
    temperature = _temperature(setting, temperature_c, notes, refusals)
    on_gas = _connected(setting, notes, refusals, stated=connected)
    most_start = setting.brought_g_per_l if start_co2_g_per_l is None else start_co2_g_per_l
    setting = within_limits(
        setting, [temperature], start_co2_g_per_l=start_co2_g_per_l, site=site, notes=notes, refusals=refusals
    )
    flat = setting.closed(temperature)
    target, start = target_of(target_g_per_l, setting, flat, notes), start_of(start_co2_g_per_l, setting, notes)
    if dial_bar_gauge is None:
        judgement = _default_dial(setting, flat, target, notes, refusals)
    else:
        judgement = _stated_dial(setting, flat, dial_bar_gauge, target, notes, refusals)
    judgement = _check_start(setting, judgement, most_start, notes, refusals, stated=start_co2_g_per_l is not None)
    seconds = _shake(shake_s, notes, refusals)
    refusals.raise_any()
    usual = 1 if on_gas else CHARGES
    plan = Plan(
        setting=setting,
        temperature_c=temperature,
        target_g_per_l=target,
        start_g_per_l=start,
        dial_bar_gauge=judgement.dial_bar_gauge,
        count=usual if as_needed else _stated(charge_count, usual, "charges", notes, at="/charge_count"),
        shake_s=seconds,
        rest_s=_seconds(rest_s, REST_S, "rest", notes, at="/rest"),
        agitation=_stated(agitation, STILL if on_gas else SHAKEN, "agitation", notes, at="/agitation"),
        connected=on_gas,
    )
    return _charging(_as_needed(plan, notes) if as_needed else plan, judgement, notes)


def _temperature(setting: Setting, given: float | None, notes: Notes, refusals: Refusals) -> float:
    """Temperature to go on with: as stated, or what is offered instead."""
    if given is None:
        given = safety.cold_c(setting.drink)
        notes.assume("temperature", Quantity("temperature", given), "common-practice", at="/temperature")
    with refusals.gather():
        safety.check_fit_to_charge(setting.drink, setting.vessel, given, notes)
    return safety.chargeable_c(setting.drink, setting.vessel, given)


def _connected(setting: Setting, notes: Notes, refusals: Refusals, *, stated: bool | None) -> bool:
    """Whether the vessel stays on the gas: a keg does unless stated, a bottle never does."""
    is_keg = setting.vessel.is_keg
    if stated is None and is_keg:
        notes.assume("connected", "yes: a keg may stay on the gas", "common-practice", at="/connected")
    if stated and not is_keg:
        text = "A bottle is never left on the gas; take it off after each shake."
        with refusals.gather():
            raise Refused(
                "left-connected", [Fault("/connected", "bottle", text)], nearest=[Nearest("/connected", value=False)]
            )
    on_gas = is_keg and stated is not False
    if on_gas:
        text = "Gauge pressure and gas are given for the keg at rest on the gas, not for the end of its charges."
        notes.caution("rests-on-gas", "info", text, at="/connected")
    return on_gas


def _shake(given: float | None, notes: Notes, refusals: Refusals) -> float:
    """Time on the regulator [s]; the usual where none is no charge at all."""
    if given == 0.0:
        text = "In no time at all the drink takes nothing up; shake for {usual} or so each time."
        usual = Quantity("duration", SHAKE_S)
        fault = Fault("/shake", "no-time", text, (("usual", usual),))
        refusals.keep(Refused("unreachable", [fault], nearest=[Nearest("/shake", usual)]))
        return SHAKE_S
    return _seconds(given, SHAKE_S, "shake", notes, at="/shake")


def _as_needed(plan: Plan, notes: Notes) -> Plan:
    """With as many charges as reach the target, at least one; as it is where no number does."""
    needed = charges_needed(plan, runs(replace(plan, count=1))).typical
    count = max(1, round(needed)) if isfinite(needed) else plan.count
    source = "as many as typical uptake needs" if isfinite(needed) else "the usual; no number reaches the target"
    notes.assume("charges", float(count), "estimate", source, at="/as_needed")
    return replace(plan, count=count)


def _default_dial(setting: Setting, closed: Closed, target: float, notes: Notes, refusals: Refusals) -> Judgement:
    judgement = set_point_judged(setting, closed, target)
    with refusals.gather():
        check_target(setting, judgement, notes)
    dial = Quantity("pressure", judgement.dial_bar_gauge)
    notes.assume("dial, gauge", dial, "default", "the set-point of the target", at="/gauge_pressure")
    return judgement


def _stated_dial(
    setting: Setting, closed: Closed, dial_bar_gauge: float, target: float, notes: Notes, refusals: Refusals
) -> Judgement:
    """The dial judged; one that is no pressure is refused, and that of the target judged in its place."""
    if dial_bar_gauge > 0.0:
        judgement = Judgement(closed, dial_bar_gauge)
        with refusals.gather():
            safety.check(judgement, notes)
        return judgement
    usual = set_point_judged(setting, closed, target)
    dial = rounded_down(min(usual.dial_bar_gauge, usual.never_over_bar_gauge), 0.01)
    at = "/gauge_pressure"
    refusals.keep(safety.no_pressure(safety.lower_dial(dial, at), usual.never_over_bar_gauge, at))
    return Judgement(closed, dial)


def _check_start(
    setting: Setting, judgement: Judgement, start: float, notes: Notes, refusals: Refusals, *, stated: bool
) -> Judgement:
    """The dial judged anew with what the drink already holds; all of what its components bring, at the worst.

    start: [g/L]; stated: by the request, which can then state less
    """
    if start == 0.0 or judgement.never_over_bar_gauge <= 0.0:
        return judgement
    dial = min(judgement.dial_bar_gauge, judgement.never_over_bar_gauge)
    if dial < 0.0:  # refused already; the target that is offered instead
        liquid = setting.liquid_at(judgement.closed.temperature_c)
        dial = setting.set_point_bar_gauge(liquid, workable_target(setting, judgement))
    again = Judgement(replace(judgement.closed, start_co2_g_per_l=start), dial)
    if again.reached_bar_gauge > judgement.reached_bar_gauge or not again.passes:
        most = rounded_down(_most_start(again), 0.1)
        nearest = [Nearest("/start_co2", Quantity("co2", most, "down"))] if stated and most >= 0.0 else []
        with refusals.gather():
            safety.check(again, notes, at="/start_co2", nearest=nearest)
    return again if judgement.passes else judgement


def _most_start(judgement: Judgement) -> float:
    """Highest level before charging, up to the one judged, that passes under a dial; 0 if none does [g/L]."""

    def excess(start_co2_g_per_l: float) -> float:
        return safety.excess_bar(
            replace(judgement.closed, start_co2_g_per_l=start_co2_g_per_l), judgement.dial_bar_gauge
        )

    return safety.highest(excess, low=0.0, high=judgement.closed.start_co2_g_per_l)


def _stated(given: T | None, usual: T, name: str, notes: Notes, *, at: str) -> T:
    """What the request states, or what is usual."""
    if given is not None:
        return given
    notes.assume(name, float(usual) if isinstance(usual, int) else str(usual), "common-practice", at=at)
    return usual


def _seconds(given: float | None, usual: float, name: str, notes: Notes, *, at: str) -> float:
    """The same of a duration [s]."""
    if given is None:
        notes.assume(name, Quantity("duration", usual), "common-practice", at=at)
    return usual if given is None else given


def _charging(plan: Plan, judgement: Judgement, notes: Notes) -> Charging:
    warn_overfull(plan, notes)
    made = runs(plan)
    needed = charges_needed(plan, made)
    days = days_needed(plan, made) if plan.connected else None
    if days is None and not isfinite(needed.high):
        say_how_far(plan, needed, notes)
    at_rest = partial(rested(plan).band, 1) if plan.connected else partial(made.band, plan.count)
    return Charging(
        plan=plan,
        judgement=judgement,
        made=made,
        at_rest=at_rest,
        level_g_per_l=plan.level_at_rest if plan.connected else at_rest(level_g_per_l),
        charges_to_target=needed,
        days_to_target=days,
        co2_used_g=at_rest(used_g),
    )

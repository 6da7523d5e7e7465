"""How a vessel is charged to a target: the dial, the charges, what they come to, how to check it, what would help."""

from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property, partial
from math import isfinite
from typing import TypeVar

from service import safety
from service.calibration import Calibration
from service.carbonation.advice import Advice, advised
from service.carbonation.cautions import (
    caution_cold_room,
    caution_colder,
    caution_room_for_error,
    caution_timed,
    say_how_far,
    warn_empty,
    warn_overfull,
)
from service.carbonation.checking import Check, check_of, warm_bar_gauge
from service.carbonation.dials import Dial, dial_of, raised
from service.carbonation.runs import (
    Over,
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
from service.carbonation.within import fitted
from service.drink import Drink
from service.errors import Fault, Nearest, Refusals, Refused
from service.limits.charging import CHARGES, REACHED_SHARE, REST_S, SHAKE_S, TIMED_SHAKE_S
from service.notes import Notes
from service.safety import Held, Judgement
from service.science.band import Band
from service.science.constants import CO2_G_PER_MOL
from service.science.units import Quantity
from service.science.vessel import Agitation, still_level_mol_per_l
from service.setting import Setting, attempt, setting_of, within_limits
from service.site import Air, Site
from service.vessel import VesselGiven

T = TypeVar("T")

STILL: Agitation = "still"
SHAKEN: Agitation = "shaken"
ROCKED: Agitation = "rocked"


@dataclass(frozen=True)
class Charging:
    """Gauge pressures are in bar. Only what is asked for is worked out.

    judgement: of the dial; made: the charges of the plan; over: the vessel once they are
    """

    plan: Plan
    judgement: Judgement
    made: Runs
    over: Over
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
    def judged_at_c(self) -> float:
        """The temperature that limits are judged at [degC]: the warmest room, or where a keg is kept."""
        return self.judgement.warm_room_c

    @property
    def worst_bar_gauge(self) -> float:
        """The worst case, which limits are judged by: the upper end after full equilibrium with the dial."""
        return self.judgement.reached_bar_gauge

    @property
    def room_c(self) -> float:
        """The warmest room."""
        return self.plan.setting.room_c

    @cached_property
    def warm_bar_gauge(self) -> Band | None:
        """The pressure that these charges come to in the warmest room, closed; None beyond the gas equations."""
        return warm_bar_gauge(self.plan, self.over, self.room_c)

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
        return self.over.band(partial(rest_gauge_bar, self.plan))

    @cached_property
    def check(self) -> Check:
        """Gauge and scale of a vessel that these charges were made to."""
        return check_of(self.plan, self.over)

    @property
    def fits(self) -> bool:
        """Tell whether the target is reached at typical uptake: in the time that was asked for, or by these charges."""
        days, made = self.days_to_target, self.charges_g_per_l[-1].typical >= REACHED_SHARE * self.plan.target_g_per_l
        in_days = self.plan.within_s is None and days is not None and isfinite(days.typical)
        in_time = self.plan.within_s is None or 60.0 * self.minutes <= self.plan.within_s * (1.0 + 1e-9)
        return in_days or (made and in_time)

    @cached_property
    def advice(self) -> tuple[Advice, ...]:
        """Changes that help where the target is not reached, the best first."""
        return () if self.fits else advised(self.plan, self.made, self.judgement)

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
    within_s: float | None = None,
    held: Held | None = None,
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

    charge_count, as_needed, within_s: so many charges; as many as reach the target at typical uptake, up to
        MOST_CHARGES; or the charges and shakes that fit a time. At most one of them
    held: on the dial until all is at rest, or by the clock, after which every bottle is checked
    now: by which the age of the vessel is judged
    dial_bar_gauge: unless stated the set-point of the target, or what reaches it by the clock or in the time
    connected: stays on the gas between charges and after; kegs only
    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    setting = setting_of(
        drink, vessel=vessel, fill=fill, air=air, site=site, calibration=calibration, now=now, question="planned",
        notes=notes, refusals=refusals,
    )  # fmt: skip
    temperature = _temperature(setting, temperature_c, notes, refusals)
    setting = _held(setting, held, site, notes, refusals)
    on_gas = _connected(setting, notes, refusals, stated=connected)
    setting = within_limits(setting, [temperature], start_co2_g_per_l=start_co2_g_per_l, notes=notes, refusals=refusals)
    target = target_of(target_g_per_l, setting, setting.closed(temperature), notes)
    start = start_of(start_co2_g_per_l, setting, notes)
    dial = dial_of(setting, temperature, target, dial_bar_gauge, start_co2_g_per_l, notes, refusals)
    seconds = _shake(shake_s, setting.held, notes, refusals, told=within_s is None)
    refusals.raise_any()
    usual = 1 if on_gas else CHARGES
    counted = not as_needed and within_s is None
    plan = Plan(
        setting=setting,
        temperature_c=temperature,
        target_g_per_l=target,
        start_g_per_l=start,
        dial_bar_gauge=dial.judgement.dial_bar_gauge,
        count=_stated(charge_count, usual, "charges", notes, at="/charge_count") if counted else usual,
        shake_s=seconds,
        rest_s=_seconds(rest_s, REST_S, "rest", notes, at="/rest"),
        agitation=_stated(agitation, _usual_agitation(on_gas, within_s), "agitation", notes, at="/agitation"),
        connected=on_gas,
        within_s=within_s,
    )
    planned, judgement = _planned(plan, dial, notes, as_needed=as_needed)
    return _charging(planned, judgement, notes)


def _planned(plan: Plan, dial: Dial, notes: Notes, *, as_needed: bool) -> tuple[Plan, Judgement]:
    """Return the plan with its charges and its dial, as far as the request left them open."""
    judgement = dial.judgement
    if plan.within_s is not None:
        plan = fitted(plan, judgement, notes, free=dial.free)
    elif plan.setting.held == "timed" and dial.free:
        plan = raised(plan, judgement)
    if as_needed:
        plan = _as_needed(plan, notes)
    if dial.free:
        shown = Quantity("pressure", plan.dial_bar_gauge, "down")
        raised_to = plan.dial_bar_gauge > judgement.dial_bar_gauge + 1e-9
        source = "what reaches the target in the time" if raised_to else "the set-point of the target"
        notes.assume("dial, gauge", shown, "default", source, at="/gauge_pressure")
    final = replace(judgement, dial_bar_gauge=plan.dial_bar_gauge)
    if not judgement.near:  # a set-point that is near was told when it was judged
        safety.warn_near_limit(final, notes, "/gauge_pressure")
    return plan, final


def _temperature(setting: Setting, given: float | None, notes: Notes, refusals: Refusals) -> float:
    """Return the temperature to go on with: as stated, or what is offered instead."""
    if given is None:
        given = safety.cold_c(setting.drink)
        notes.assume("temperature", Quantity("temperature", given), "common-practice", at="/temperature")
    with refusals.gather():
        safety.check_fit_to_charge(setting.drink, setting.vessel, given, notes)
    return safety.chargeable_c(setting.drink, setting.vessel, given)


def _held(setting: Setting, held: Held | None, site: Site | None, notes: Notes, refusals: Refusals) -> Setting:
    """Return the setting as it is held on the dial; in full where the vessel may not be charged by the clock."""
    if held != "timed":
        return setting

    def timed() -> Setting:
        safety.check_may_be_timed(setting.vessel)
        if site is not None and site.scale is not None:
            return replace(setting, held="timed", scale_g=site.scale.resolution_g)
        step = Quantity("mass", setting.scale_g)
        notes.assume("step of the scale that bottles are checked on", step, "common-practice", at="/site/scale")
        return replace(setting, held="timed")

    return attempt(refusals, timed, lambda: setting)


def _connected(setting: Setting, notes: Notes, refusals: Refusals, *, stated: bool | None) -> bool:
    """Tell whether the vessel stays on the gas: a keg does unless stated, a bottle never does."""
    is_keg = setting.vessel.is_keg
    if stated is None and is_keg:
        notes.assume("connected", "yes: a keg may stay on the gas", "common-practice", at="/connected")
    if stated and not is_keg:
        text = "A bottle is never left on the gas; take it off after each shake."
        with refusals.gather():
            raise Refused(
                "left-connected", [Fault("/connected", "bottle", text)], nearest=[Nearest("/connected", value=False)]
            )
    return is_keg and stated is not False


def _usual_agitation(on_gas: bool, within_s: float | None) -> Agitation:  # noqa: FBT001 - two facts of one plan
    """A keg stands still on its gas, and is rocked where there is little time."""
    if not on_gas:
        return SHAKEN
    return STILL if within_s is None else ROCKED


def _shake(given: float | None, held: Held, notes: Notes, refusals: Refusals, *, told: bool) -> float:
    """Return the time on the regulator [s]; the usual where none is no charge at all."""
    usual = TIMED_SHAKE_S if held == "timed" else SHAKE_S
    if given == 0.0:
        text = "In no time at all the drink takes nothing up; shake for {usual} or so each time."
        about = Quantity("duration", usual)
        fault = Fault("/shake", "no-time", text, (("usual", about),))
        refusals.keep(Refused("unreachable", [fault], nearest=[Nearest("/shake", about)]))
        return usual
    return _seconds(given, usual, "shake", notes, at="/shake") if told else usual


def _as_needed(plan: Plan, notes: Notes) -> Plan:
    """Return it with as many charges as reach the target, at least one; as it is where no number does."""
    needed = charges_needed(plan, runs(replace(plan, count=1))).typical
    count = max(1, round(needed)) if isfinite(needed) else plan.count
    source = "as many as typical uptake needs" if isfinite(needed) else "the usual; no number reaches the target"
    notes.assume("charges", float(count), "estimate", source, at="/as_needed")
    return replace(plan, count=count)


def _stated(given: T | None, usual: T, name: str, notes: Notes, *, at: str) -> T:
    """Return what the request states, or what is usual."""
    if given is not None:
        return given
    notes.assume(name, float(usual) if isinstance(usual, int) else str(usual), "common-practice", at=at)
    return usual


def _seconds(given: float | None, usual: float, name: str, notes: Notes, *, at: str) -> float:
    """Return the same of a duration [s]."""
    if given is None:
        notes.assume(name, Quantity("duration", usual), "common-practice", at=at)
    return usual if given is None else given


def _charging(plan: Plan, judgement: Judgement, notes: Notes) -> Charging:
    warn_overfull(plan, notes)
    warn_empty(plan, notes)
    caution_room_for_error(judgement, notes)
    caution_colder(judgement, notes)
    caution_timed(judgement, notes)
    made = runs(plan)
    needed = charges_needed(plan, made)
    days = days_needed(plan, made) if plan.connected else None
    if days is None and not isfinite(needed.high):
        say_how_far(plan, needed, notes)
    over = Over(rested(plan), 1) if plan.connected else Over(made, plan.count)
    found = Charging(
        plan=plan,
        judgement=judgement,
        made=made,
        over=over,
        level_g_per_l=plan.level_at_rest if plan.connected else over.band(level_g_per_l),
        charges_to_target=needed,
        days_to_target=days,
        co2_used_g=over.band(used_g),
    )
    if plan.setting.vessel.kept_at_c is not None:
        caution_cold_room(found.warm_bar_gauge, plan.setting.vessel.kept_at_c, plan.setting.room_c, notes)
    return found

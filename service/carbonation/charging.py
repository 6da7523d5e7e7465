"""How a vessel is charged to a target: the dial, the charges, and what they come to."""

from dataclasses import replace
from math import isfinite
from typing import TypeVar

from service import safety
from service.carbonation.asked import ChargesAsked, start_of, target_of
from service.carbonation.cautions import (
    caution_cold_room,
    caution_colder,
    caution_room_for_error,
    caution_timed,
    caution_unreached,
    warn_empty,
    warn_overfull,
)
from service.carbonation.dials import Dial, dial_of, fitted, raised
from service.carbonation.outcome import Charging
from service.carbonation.runs import (
    Over,
    Plan,
    charges_needed,
    days_needed,
    level_g_per_l,
    rested,
    runs,
    used_g,
)
from service.drink import Drink
from service.errors import Fault, Nearest, Refusals, Refused
from service.limits.charging import CHARGES, REST_S, SHAKE_S, TIMED_SHAKE_S
from service.notes import Notes
from service.safety import Held, Judgement
from service.science.units import Quantity
from service.science.vessel import Agitation
from service.setting import Setting, attempt, setting_of, within_limits

T = TypeVar("T")

STILL: Agitation = "still"
SHAKEN: Agitation = "shaken"
ROCKED: Agitation = "rocked"


def charge(drink: Drink, asked: ChargesAsked, notes: Notes) -> Charging:
    """Return what each charge of a vessel comes to, where the vessel stands it.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    setting = setting_of(drink, asked, "planned", notes, refusals)
    cold_c = _temperature(setting, asked.temperature_c, notes, refusals)
    setting = _held(setting, asked, notes, refusals)
    on_gas = _connected(setting, notes, refusals, stated=asked.connected)
    start_g_per_l = asked.start_co2_g_per_l
    setting = within_limits(setting, [cold_c], start_co2_g_per_l=start_g_per_l, notes=notes, refusals=refusals)
    target = target_of(asked.target_g_per_l, setting, setting.closed(cold_c), notes)
    start = start_of(start_g_per_l, setting, notes)
    dial = dial_of(setting, cold_c, target, asked.gauge_pressure_bar, start_g_per_l, notes, refusals)
    shake_s = _shake(asked, setting.held, notes, refusals)
    refusals.raise_any()
    plan = Plan(
        setting=setting,
        temperature_c=cold_c,
        target_g_per_l=target,
        start_g_per_l=start,
        dial_bar_gauge=dial.judgement.dial_bar_gauge,
        count=_count(asked, 1 if on_gas else CHARGES, notes),
        shake_s=shake_s,
        rest_s=_seconds(asked.rest_s, REST_S, "rest", notes, at="/rest"),
        agitation=_stated(asked.agitation, _usual_agitation(asked, on_gas=on_gas), "agitation", notes, at="/agitation"),
        connected=on_gas,
        within_s=asked.within_s,
    )
    return _charging(*_planned(plan, dial, notes, as_needed=asked.as_needed), notes)


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


def _held(setting: Setting, asked: ChargesAsked, notes: Notes, refusals: Refusals) -> Setting:
    """Return the setting as it is held on the dial; in full where the vessel may not be charged by the clock."""
    site = asked.site
    if asked.held != "timed":
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


def _usual_agitation(asked: ChargesAsked, *, on_gas: bool) -> Agitation:
    """Return how a vessel is usually moved: a keg stands still on its gas, and is rocked where there is little time."""
    if not on_gas:
        return SHAKEN
    return STILL if asked.within_s is None else ROCKED


def _shake(asked: ChargesAsked, held: Held, notes: Notes, refusals: Refusals) -> float:
    """Return the time on the regulator [s]; the usual where none is no charge at all."""
    usual = TIMED_SHAKE_S if held == "timed" else SHAKE_S
    if asked.shake_s == 0.0:
        text = "In no time at all the drink takes nothing up; shake for {usual} or so each time."
        about = Quantity("duration", usual)
        fault = Fault("/shake", "no-time", text, (("usual", about),))
        refusals.keep(Refused("unreachable", [fault], nearest=[Nearest("/shake", about)]))
        return usual
    if asked.within_s is not None:  # found later on
        return usual
    return _seconds(asked.shake_s, usual, "shake", notes, at="/shake")


def _count(asked: ChargesAsked, usual: int, notes: Notes) -> int:
    """Return the number of charges to begin with, which as_needed and within change."""
    if asked.as_needed or asked.within_s is not None:
        return usual
    return _stated(asked.charge_count, usual, "charges", notes, at="/charge_count")


def _as_needed(plan: Plan, notes: Notes) -> Plan:
    """Return the plan with as many charges as reach the target, at least one; unchanged where no number does."""
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
    """Return the duration that the request states, or the usual one [s]."""
    if given is None:
        notes.assume(name, Quantity("duration", usual), "common-practice", at=at)
    return usual if given is None else given


def _charging(plan: Plan, judgement: Judgement, notes: Notes) -> Charging:
    """Step through the plan, and warn of what its charges come to."""
    warn_overfull(plan, notes)
    warn_empty(plan, notes)
    caution_room_for_error(judgement, notes)
    caution_colder(judgement, notes)
    caution_timed(judgement, notes)
    made = runs(plan)
    needed = charges_needed(plan, made)
    days = days_needed(plan, made) if plan.connected else None
    if days is None and not isfinite(needed.high):
        caution_unreached(plan, needed, notes)
    over = Over(rested(plan), 1) if plan.connected else Over(made, plan.count)
    found = Charging(
        planned=plan,
        judgement=judgement,
        made=made,
        over=over,
        level_g_per_l=plan.level_at_rest if plan.connected else over.band(level_g_per_l),
        charges_needed=needed,
        days_needed=days,
        co2_used_g=over.band(used_g),
    )
    if plan.setting.vessel.kept_at_c is not None:
        warm_bar = None if found.warm_room is None else found.warm_room.gauge_pressure_bar
        caution_cold_room(warm_bar, plan.setting.vessel.kept_at_c, plan.setting.room_c, notes)
    return found

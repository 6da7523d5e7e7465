"""Warnings of charges that come short, that only a fill to the line makes safe, or that leave no room for error."""

from dataclasses import replace
from math import isfinite

from service import safety
from service.carbonation.runs import Plan
from service.limits.charging import COLDER_BY_C, FREEZER_C, ICE_C, REACHED_SHARE
from service.limits.requests import MOST_CHARGES
from service.limits.safety import GAUGE_ERROR_BAR
from service.limits.serving import LEAST_FILL
from service.notes import Notes
from service.safety import Judgement
from service.science.band import Band
from service.science.units import Quantity
from service.vessel import most_fill


def warn_overfull(plan: Plan, notes: Notes) -> None:
    """Warn where the vessel passes at the stated fill and a fuller one would not.

    A timed charge is left out: over its limit at any fill, every bottle is checked.
    """
    if plan.setting.held == "timed":
        return
    most = most_fill(plan.setting.vessel)
    fuller = replace(plan.setting, fill=most).closed(plan.temperature_c, plan.start_g_per_l)
    if safety.excess_bar(fuller, plan.dial_bar_gauge) > 0.0:
        text = (
            "Fill to the line and no further: filled to {most} of brimful, this dial could pass the limit of {limit}."
        )
        limit = Quantity("pressure", fuller.limit_bar_gauge, "down")
        notes.caution("overfull", "warning", text, at="/fill", most=most, limit=limit)


def warn_empty(plan: Plan, notes: Notes) -> None:
    """Warn of a vessel that is charged nearly empty: what is stored over so little drink does the damage."""
    if plan.setting.fill < LEAST_FILL - 1e-9:
        text = "Fill more, or take a smaller vessel: under a third full, the gas over the drink does the damage."
        notes.caution("nearly-empty", "warning", text, at="/fill")


def caution_room_for_error(judgement: Judgement, notes: Notes) -> None:
    """Warn where the highest dial that passes is nearer to the dial than a gauge can tell."""
    most, dial = judgement.never_over_bar_gauge, judgement.dial_bar_gauge
    if most - dial >= GAUGE_ERROR_BAR:
        return
    text = "Check the gauge, there is no room for error: never over {never_over}, and a gauge is easily {error} off."
    notes.caution(
        "no-room-for-error", "warning", text, at="/gauge_pressure", never_over=Quantity("pressure", most, "down"),
        error=Quantity("pressure", GAUGE_ERROR_BAR),
    )  # fmt: skip


def caution_colder(judgement: Judgement, notes: Notes) -> None:
    """Warn of a dial for a warmer drink: between its charges, in ice, the vessel would take up more than it stands."""
    closed = judgement.closed
    cold_c = safety.cold_c(closed.drink)
    if closed.temperature_c < ICE_C:  # no ice bath but a freezer or brine, which goes on cooling it
        cold_c = max(closed.temperature_c - FREEZER_C, safety.lowest_charging_c(closed.drink))
    if closed.temperature_c - cold_c <= COLDER_BY_C:
        return
    never_over = replace(closed, temperature_c=cold_c).never_over_bar_gauge
    if judgement.dial_bar_gauge <= never_over:
        return
    text = (
        "Keep it out of ice and freezer until it is off the gas: this dial is for a drink at {temperature}. Colder it "
        "takes up more: at {cold} never over {never_over}."
    )
    notes.caution(
        "colder-less-dial", "warning", text, at="/temperature",
        temperature=Quantity("temperature", closed.temperature_c), cold=Quantity("temperature", cold_c),
        never_over=Quantity("pressure", max(0.0, never_over), "down"),
    )  # fmt: skip


def caution_timed(judgement: Judgement, notes: Notes) -> None:
    """Warn of what a vessel that is charged by the clock comes to where its check is forgotten."""
    limit = judgement.vessel.closed_limit_bar_gauge
    if judgement.closed.held != "timed" or judgement.reached_bar_gauge <= limit:
        return
    text = (
        "Check every one: charged by the clock, a bottle that is not checked could reach {reached} at {room}; its "
        "limit is {limit}."
    )
    notes.caution(
        "timed-over-limit", "warning", text, at="/held",
        reached=Quantity("pressure", judgement.reached_bar_gauge, "up"),
        room=Quantity("temperature", judgement.warm_room_c), limit=Quantity("pressure", limit, "down"),
    )  # fmt: skip


def caution_cold_room(
    warm_bar: Band | None, kept_at_c: float, room_c: float, notes: Notes, *, at: str = "/vessel/kept_at"
) -> None:
    """Warn of what a keg that is judged in a cold room comes to where that fails.

    warm_bar: in the warmest room [bar gauge]; None beyond the gas equations
    """
    params = {"kept_at": Quantity("temperature", kept_at_c), "room": Quantity("temperature", room_c)}
    if warm_bar is None:
        text = "If the cold room fails, vent it: it is judged at {kept_at}, and at {room} no equation holds."
        notes.caution("cold-room-fails-beyond", "danger", text, at=at, **params)
        return
    text = "If the cold room fails, vent it: it is judged at {kept_at}, and at {room} it comes to {reached}."
    reached = Quantity("pressure", warm_bar.high, "up")
    notes.caution("cold-room-fails", "warning", text, at=at, **params, reached=reached)


def caution_unreached(plan: Plan, needed: Band, notes: Notes) -> None:
    """Tell why no number of charges is given, where none can be."""
    most = float(MOST_CHARGES)
    if isfinite(needed.typical):
        text = "Taste before you stop: {typical} charges are usual, but {most} may not reach the target."
        notes.caution("slow-uptake", "warning", text, at="/agitation", most=most, typical=needed.typical)
        return
    level, target = plan.level_at_rest.typical, plan.target_g_per_l
    if level >= REACHED_SHARE * target:
        text = (
            "{most} charges like this do not reach {target}: give each of them longer on the regulator, or move it "
            "more."
        )
        notes.caution("target-not-reached", "warning", text, at="/target", most=most, target=Quantity("co2", target))
        return
    text = "{most} charges do not reach {target} like this: at rest under this dial the drink would hold {level}."
    notes.caution(
        "target-not-reached", "warning", text, at="/target", most=most,
        target=Quantity("co2", target), level=Quantity("co2", level),
    )  # fmt: skip

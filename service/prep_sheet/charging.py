"""The steps from the filled vessel to one that may be opened: air out, dial, rounds, rest, check, label."""

from collections.abc import Iterator
from math import isfinite

from service.errors import Term
from service.limits.charging import COLD_REST_S, CONNECT_S, ICE_BATH_C, ICE_C
from service.limits.safety import GAUGE_ERROR_BAR
from service.prep_sheet.parts import Parts
from service.prep_sheet.step import StepCaution, Steps, StepValue, Timer
from service.science.units import Quantity


def charge(sheet: Parts, steps: Steps, cold: int) -> int:
    """Write down how the cold, sealed vessels are charged; return the number of the last step."""
    last = _set(sheet, steps, cold)
    if sheet.charging.planned.connected:
        return _label(sheet, steps, _leave_on_gas(sheet, steps, last))
    for number in range(1, sheet.charging.planned.count + 1):
        last = _round(sheet, steps, number, last)
    return _label(sheet, steps, _check(sheet, steps, _cold_rest(sheet, steps, _gas_off(steps, last))))


def air_out(sheet: Parts, steps: Steps, filled: int) -> int:
    """Write down how the air is taken out and the vessels are sealed; return the number of the step."""
    air = sheet.charging.planned.setting.air
    text = {
        "squeezed": "Squeeze the air out, cap, and see that the seal is sound.",
        "purged": "Cap and seal. Goggles on, back the regulator off, open the cylinder slowly, set the dial. "
        "Pressurise and vent, each time. Back the regulator off.",
        "left": "Cap and seal. The air stays in and costs gas.",
        "none": "Cap and seal under gas, without air.",
    }[air.method]
    values: tuple[StepValue, ...] = ()
    if air.times is not None and air.pressure_bar_gauge is not None:
        pressure = Quantity("pressure", air.pressure_bar_gauge, "down")
        values = (StepValue("purges", "purges", float(air.times)), StepValue("purge-at", "each at", pressure))
    hands_on_s = 20.0 * sheet.fill.count
    if air.times is not None:
        hands_on_s += 60.0 + 15.0 * air.times * sheet.fill.count  # the dial set once, then each purge; no source
    sealed = steps.add("air", "bench", "take-air-out", text, *values, hands_on_s=hands_on_s, depends_on=(filled,))
    return sealed if sheet.charging.planned.setting.held == "full" else _weigh(sheet, steps, sealed)


def _weigh(sheet: Parts, steps: Steps, sealed: int) -> int:
    """Write down the weighing of vessels that are charged by the clock, which their check needs."""
    text = "Dry each capped vessel, weigh it, and write the mass on it."
    hands_on_s = 30.0 * sheet.fill.count
    return steps.add("weigh", "bench", "weigh-capped", text, hands_on_s=hands_on_s, depends_on=(sealed,))


def _set(sheet: Parts, steps: Steps, sealed: int) -> int:
    charging = sheet.charging
    limit = charging.planned.setting.vessel.charge_limit_bar_gauge
    return steps.add(
        "set",
        "bench",
        "set-regulator",
        "Back the regulator off, stand aside, open the cylinder slowly, then set.",
        StepValue("dial", "dial", Quantity("pressure", charging.gauge_pressure_bar, "down")),
        StepValue("never-over", "never over", Quantity("pressure", charging.never_over_bar_gauge, "down")),
        StepValue("relief", "regulator and relief valve, at most", Quantity("pressure", limit, "down")),
        depends_on=(sealed,),
        cautions=(*_no_room(sheet), *_out_of_ice(sheet)),
    )


def _no_room(sheet: Parts) -> Iterator[StepCaution]:
    if sheet.charging.never_over_bar_gauge - sheet.charging.gauge_pressure_bar < GAUGE_ERROR_BAR:
        text = "Check the gauge against another before you set it: there is no room for error."
        yield StepCaution("no-room-for-error", "warning", text)


def _out_of_ice(sheet: Parts) -> Iterator[StepCaution]:
    """Warn of ice where the drink is charged warmer: it cools on in there, and the dial is then too high for it."""
    plan = sheet.charging.planned
    if plan.temperature_c > ICE_BATH_C.high and not plan.connected:
        text = "Take it out of the ice first: this dial is too high for a colder drink."
        yield StepCaution("out-of-the-ice", "warning", text)


def _leave_on_gas(sheet: Parts, steps: Steps, before: int) -> int:
    charging = sheet.charging
    plan = charging.planned
    days = None if plan.within_s is not None else charging.days_needed
    level = Quantity("co2", charging.planned.level_at_rest.typical)
    values = [StepValue("comes-to-level", "comes to", level)]
    if days is not None and isfinite(days.high):
        values += [
            StepValue("days-from", "days, from", float(f"{days.low:.2g}")),
            StepValue("days-to", "days, to", float(f"{days.high:.2g}")),
        ]
    values.insert(0, StepValue("gas-at", "kept at", Quantity("temperature", plan.temperature_c)))
    text, moved_s = "Goggles on. Connect, and leave on the gas, cold and upright.", 0.0
    if plan.agitation != "still":
        moved_s = plan.shake_s
        text = _LEFT_MOVED[plan.agitation]
        values.insert(0, StepValue("shake", "on the regulator, each", Quantity("duration", plan.shake_s)))
    return steps.add(
        "charge",
        "bench",
        "leave-on-gas",
        text,
        *values,
        params={} if plan.agitation == "still" else {"move": _MOVE[plan.agitation]},
        late_s=None if days is None else 86400.0 * days.high,
        hands_on_s=(60.0 + moved_s) * sheet.fill.count,
        depends_on=(before,),
    )


def _round(sheet: Parts, steps: Steps, number: int, before: int) -> int:
    """Write down one round: each vessel once, and a rest where the turns of the others are shorter than it."""
    plan, count = sheet.charging.planned, sheet.fill.count
    turn_s = plan.shake_s + CONNECT_S
    shaken = steps.add(
        "charge",
        "bench",
        "charge",
        "Charge each vessel: goggles on, connect, {move}, disconnect, {back}.",
        StepValue("round", "round", float(number)),
        StepValue("rounds", "of", float(plan.count)),
        StepValue("shake", "on the regulator, each", Quantity("duration", plan.shake_s)),
        params={
            "move": _MOVE[plan.agitation],
            "back": _back(plan.temperature_c),
            "round": float(number),
            "vessels": float(count),
        },
        timer=Timer(plan.shake_s, count),
        hands_on_s=turn_s * count,
        depends_on=(before,),
    )
    rest_s = plan.rest_s - turn_s * (count - 1)
    if number == plan.count or rest_s <= 0.0:
        return shaken
    return steps.add(
        "rest",
        "bench",
        "rest",
        "Rest in the cold before the next round.",
        timer=Timer(rest_s),
        hands_on_s=0.0,
        depends_on=(shaken,),
    )


_MOVE = {"shaken": Term("shake"), "rocked": Term("rock"), "still": Term("stand")}
_LEFT_MOVED = {
    "shaken": "Goggles on. Connect, shake it on the gas, and leave it there, cold and upright.",
    "rocked": "Goggles on. Connect, rock it on the gas, and leave it there, cold and upright.",
}


def _back(temperature_c: float) -> Term:
    """Return the place for a vessel under pressure: as cold as its dial asks for, and where nothing freezes it."""
    if temperature_c < ICE_C:
        return Term("back into the cold, never into freezer or salted ice")
    if temperature_c <= ICE_BATH_C.high:
        return Term("back into ice and water")
    return Term("back into the cold, out of ice and freezer")


def _gas_off(steps: Steps, charged: int) -> int:
    text = "Take all off the gas. Close the cylinder, vent the hose, then back the regulator off."
    return steps.add("set", "bench", "close-cylinder", text, hands_on_s=30.0, depends_on=(charged,))


def _cold_rest(sheet: Parts, steps: Steps, charged: int) -> int:
    return steps.add(
        "rest",
        "bench",
        "cold-rest",
        "Stand upright in the cold, never in freezer or salted ice, before the first opening.",
        timer=Timer(max(COLD_REST_S, sheet.charging.planned.rest_s)),
        hands_on_s=30.0,
        depends_on=(charged,),
    )


def _check(sheet: Parts, steps: Steps, rested: int) -> int:
    """Write down the check: of one vessel by its gauge, or of every one that was charged by the clock."""
    check = sheet.charging.check
    if check.stop_at is not None:
        return _check_each(sheet, steps, rested)
    if check.gauge[0].gauge_pressure_bar.high <= 0.0:
        return rested
    values: list[StepValue] = []
    setting = sheet.charging.planned.setting
    for one in check.gauge:
        at = {"at": Quantity("temperature", one.temperature_c)}
        about = Quantity("pressure", max(0.0, one.gauge_pressure_bar.typical))
        most = Quantity("pressure", setting.closed(one.temperature_c).stands_to_bar_gauge, "down")
        values += [
            StepValue("gauge-about", "about, at {at}", about, at),
            StepValue("gauge-not-over", "not over, at {at}", most, at),
        ]
    return steps.add(
        "check",
        "bench",
        "gauge-at-rest",
        "Gauge one vessel at rest, cold. If it is over the most at its temperature, vent it cold, wait, gauge it again "
        "and gauge them all. Open slowly, away from faces.",
        *values,
        depends_on=(rested,),
    )


def _check_each(sheet: Parts, steps: Steps, rested: int) -> int:
    stop = sheet.charging.check.stop_at
    assert stop is not None
    most = Quantity("mass", stop.mass_gained_g, "down")
    values = [StepValue("gained-not-over", "gained since it was capped, not over", most)]
    for one in stop.gauge:
        shown = Quantity("pressure", max(0.0, one.gauge_pressure_bar), "down")
        at = {"at": Quantity("temperature", one.temperature_c)}
        values.append(StepValue("stop-over", "gauge at rest, not over, at {at}", shown, at))
    return steps.add(
        "check",
        "bench",
        "check-each",
        "Check every vessel, in the ice. Dry and weigh it, or shake it off the gas, wait a minute and gauge it. If it "
        "is over its figure, vent it cold, slowly, and check it again. It leaves the ice only under its figure.",
        *values,
        timer=Timer(60.0, sheet.fill.count),
        hands_on_s=60.0 * sheet.fill.count,
        depends_on=(rested,),
        cautions=(_TIMED,),
    )


_TIMED = StepCaution(
    "timed-unchecked", "danger", "Check every one: charged by the clock, it may pass its limit once it is warm."
)


def _label(sheet: Parts, steps: Steps, before: int) -> int:
    return steps.add(
        "label",
        "bench",
        "label-vessels",
        "Label every vessel.",
        hands_on_s=15.0 * sheet.fill.count,
        depends_on=(before,),
    )

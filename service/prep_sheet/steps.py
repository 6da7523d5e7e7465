"""The steps of a sheet in the order of work.

Order and hands-on times: common practice, no source. A step's text has no numbers; they stand in its values.
"""

from collections.abc import Iterator, Sequence
from math import isfinite

from service import acid
from service.batching import Share, Weighing, amount_of, bears_at_once
from service.notes import Value
from service.prep_sheet.ahead import clear, clear_one, unclear
from service.prep_sheet.bar import serve
from service.prep_sheet.paper import label_of
from service.prep_sheet.parts import PrepSheet
from service.prep_sheet.step import Step, Steps
from service.science.units import Quantity

UNATTENDED = "Bottle upright, non-return valve fitted. Never leave a bottle connected unattended."
COLD_REST_S = 1800.0
"""Upright and cold before the first opening [s]; common practice, no source (30 min to 12 h)."""


def steps_of(sheet: PrepSheet) -> tuple[Step, ...]:
    """Everything to do, in order."""
    steps = Steps()
    bought = _shop(sheet, steps)
    stocks = clear(sheet, steps, bought)
    solutions = tuple(_solutions(sheet, steps, bought))
    made = tuple(_make_first(sheet, steps, (bought, *stocks, *solutions)))
    mixed = _mix(sheet, steps, (bought, *stocks, *solutions, *made))
    inspected = _inspect(sheet, steps)
    filled = _fill(sheet, steps, (inspected, mixed))
    charged = _charge(sheet, steps, _chill(sheet, steps, filled))
    serve(sheet, steps, charged)
    return tuple(steps.done)


def _inspect(sheet: PrepSheet, steps: Steps) -> int:
    fill = sheet.fill
    text = {
        "bottle": "Inspect every bottle and seal. Creased, whitened, bulged, dropped or of unknown age: bin it.",
        "keg": "Inspect every keg: stamp, seals, relief valve. Dented, dropped or without a stamp: set it aside.",
    }[fill.vessel.kind]
    vessels = f"{fill.count} x {fill.vessel.name}"
    return steps.add("inspect", "bench", "inspect-vessels", text, ("vessels", vessels), hands_on_s=20.0 * fill.count)


def _shop(sheet: PrepSheet, steps: Steps) -> int:
    """What must be in the house: whole packages where their content is known, and the acids for the solutions."""
    cost = sheet.batch.cost
    packages = {p.component: p.packages for p in cost.purchases} if cost is not None else {}
    lines: list[tuple[str, Value]] = []
    for supply in sheet.batch.shopping:
        if supply.name in packages:
            lines.append((supply.name, f"{packages[supply.name]} package{'s' * (packages[supply.name] != 1)}"))
        elif supply.component.acid_solution is None:
            lines.append((supply.name, supply.amount))
    for named in sheet.solutions:
        lines += ((_product(line), Quantity("mass", line.mass_g)) for line in named.solution.weigh if line.form)
    return steps.add("shop", "manager", "buy", "Have in the house.", *lines, hands_on_s=300.0)


def _solutions(sheet: PrepSheet, steps: Steps, before: int) -> Iterator[int]:
    """One step an acid solution, its products in weighing order."""
    for named in sheet.solutions:
        lines = tuple((_product(line), _weighed(line)) for line in named.solution.weigh)
        yield steps.add(
            "weigh",
            "bench",
            "make-acid-solution",
            f"Make the {named.component}. Weigh in this order and stir until clear.",
            *lines,
            hands_on_s=90.0 * len(lines),
            depends_on=(before,),
            caution="Acid into water, never water into acid. Goggles and gloves.",
        )


def _make_first(sheet: PrepSheet, steps: Steps, before: tuple[int, ...]) -> Iterator[int]:
    """What has a spec of its own is made, and cleared where it is not clear, before it goes into the batch."""
    for line in sheet.batch.components:
        whole = line.whole
        if not whole.made_of:
            continue
        cleared = list(unclear([whole]))  # what stays behind of those is gone by now
        taken = [part if part in cleared else part.times(part.started) for part in whole.made_of]
        made = steps.add(
            "make",
            "bench",
            "make-first",
            f"Make the {line.name} first: measure in this order, and stir until even.",
            *((part.component.name, amount_of(part)) for part in taken),
            ("comes to, at least", amount_of(whole)),
            hands_on_s=45.0 * len(taken),
            depends_on=before,
        )
        yield clear_one(whole, steps, made) if whole in cleared else made


def _product(line: acid.Weighing) -> str:
    """What to take from the shelf: the hydrate or strength matters as much as the acid."""
    return line.name if line.form is None or line.name.startswith(line.form) else f"{line.name} ({line.form})"


def _weighed(line: acid.Weighing) -> Value:
    return Quantity("mass", line.measure_g) if line.measure_g else f"{line.mass_g:.2g} g, under a step of the scale"


def _mix(sheet: PrepSheet, steps: Steps, before: tuple[int, ...]) -> int:
    """By mass where the site has a scale, by volume otherwise; the working order is the same."""
    scale = sheet.asked.site.scale if sheet.asked.site else None
    text = "Measure in this order, and stir until even."
    takes: tuple[tuple[str, Value], ...] = ()
    if scale is not None:
        text = "Weigh in this order, taring after each line, and stir until even."
        if scale.capacity_g is not None and not bears_at_once(scale, sheet.batch.totals.mass_g):
            text = "Weigh each line in its own jug, then combine in this order."
            takes = (("the scale takes, jug included", Quantity("mass", scale.capacity_g)),)
    if _sparkling(sheet):
        text += " What sparkles goes in last, cold, folded in gently."
    lines = tuple(_measured(sheet) if scale is None else _weighings(sheet))
    return steps.add("mix", "bench", "mix-batch", text, *takes, *lines, hands_on_s=45.0 * len(lines), depends_on=before)


def _sparkling(sheet: PrepSheet) -> set[str]:
    return {line.name for line in sheet.batch.components if line.glass.co2_g > 0.0}


def _in_order(sheet: PrepSheet) -> list[Weighing]:
    """The working order of weighing, with what sparkles at its end."""
    last = _sparkling(sheet)
    return sorted(sheet.batch.weighing, key=lambda weighing: weighing.component in last)


def _measured(sheet: PrepSheet) -> Iterator[tuple[str, Value]]:
    measures = {line.name: line.measure for line in sheet.batch.components}
    for weighing in _in_order(sheet):
        measure = measures[weighing.component]
        if measure is not None:
            yield weighing.component, measure


def _weighings(sheet: PrepSheet) -> Iterator[tuple[str, Value]]:
    for weighing in _in_order(sheet):
        name = f"{weighing.component}, on its own" if weighing.alone else weighing.component
        yield from _shares(name, weighing.shares)


def _shares(name: str, shares: Sequence[Share]) -> Iterator[tuple[str, Value]]:
    """What goes on the scale of one line: at once, or in full jugs and a rest."""
    for share in shares:
        if share.times > 1:
            yield f"{name}, full jugs", float(share.times)
        said = f"{name}, in each" if share.times > 1 else f"{name}, then" if len(shares) > 1 else name
        yield said, Quantity("mass", share.measure_g)


def _chill(sheet: PrepSheet, steps: Steps, filled: int) -> int:
    chilling = sheet.chilling
    if chilling.time_s.high == 0.0:
        return filled
    fetch_g = chilling.load.ice_to_fetch_g
    ice = (("ice to fetch", Quantity("mass", fetch_g, "up")),) if fetch_g else ()
    return steps.add(
        "chill",
        "bench",
        "chill-batch",
        f"Chill the filled vessels in {chilling.environment.replace('-', ' ')}. Check when the timer rings.",
        *ice,
        ("to", Quantity("temperature", chilling.goal_c)),
        ("never below", Quantity("temperature", chilling.lowest_safe_c, "up")),
        timer_s=chilling.first_check_s,
        late_s=chilling.time_s.high,
        hands_on_s=120.0,
        depends_on=(filled,),
    )


def _fill(sheet: PrepSheet, steps: Steps, before: tuple[int, ...]) -> int:
    fill = sheet.fill
    filled = steps.add(
        "fill",
        "bench",
        "fill-vessels",
        "Fill each vessel to the line.",
        ("liquid in each", Quantity("volume", fill.liquid_ml)),
        ("left empty", Quantity("volume", fill.headspace_ml)),
        hands_on_s=45.0 * fill.count,
        depends_on=before,
    )
    air = sheet.charging.plan.setting.air
    text = {
        "squeezed": "Squeeze the air out, cap, and see that the seal is sound.",
        "purged": "Cap, seal, then purge: pressurise and vent, each time.",
        "left": "Cap and seal. The air stays in and costs CO2.",
        "none": "Cap and seal under CO2, without air.",
    }[air.method]
    values: list[tuple[str, Value]] = []
    if air.times is not None and air.pressure_bar_gauge is not None:
        values = [("purges", f"{air.times}"), ("each at", Quantity("pressure", air.pressure_bar_gauge, "down"))]
    return steps.add("air", "bench", "take-air-out", text, *values, hands_on_s=20.0 * fill.count, depends_on=(filled,))


def _charge(sheet: PrepSheet, steps: Steps, sealed: int) -> int:
    charging = sheet.charging
    last = steps.add(
        "set",
        "bench",
        "set-regulator",
        "Back the regulator off, stand aside, open the cylinder slowly, then set.",
        ("dial", Quantity("pressure", charging.dial_bar_gauge, "down")),
        ("never over", Quantity("pressure", charging.never_over_bar_gauge, "down")),
        depends_on=(sealed,),
        caution=None if charging.plan.connected else UNATTENDED,
    )
    if charging.plan.connected:
        return _label(sheet, steps, _leave_on_gas(sheet, steps, last))
    for number in range(1, len(charging.charges_g_per_l) + 1):
        last = _one_charge(sheet, steps, number, last)
    return _label(sheet, steps, _check_charge(sheet, steps, last))


def _leave_on_gas(sheet: PrepSheet, steps: Steps, before: int) -> int:
    charging = sheet.charging
    days = charging.days_to_target
    values = [("comes to", Quantity("co2", charging.plan.level_at_rest.typical))]
    about = () if days is None or not isfinite(days.typical) else (("days, about", f"{days.typical:.0f}"),)
    return steps.add(
        "charge",
        "bench",
        "leave-on-gas",
        "Goggles on. Connect, and leave on the gas, cold and upright.",
        *values,
        *about,
        late_s=None if days is None else 86400.0 * days.high,
        hands_on_s=60.0 * sheet.fill.count,
        depends_on=(before,),
    )


def _one_charge(sheet: PrepSheet, steps: Steps, number: int, before: int) -> int:
    charging, count = sheet.charging, len(sheet.charging.charges_g_per_l)
    shaken = steps.add(
        "charge",
        "bench",
        "charge",
        f"Charge {number} of {count}, each vessel: goggles on, connect, {_MOVE[charging.plan.agitation]}, disconnect.",
        timer_s=charging.plan.shake_s,
        hands_on_s=(charging.plan.shake_s + 15.0) * sheet.fill.count,
        depends_on=(before,),
    )
    level = charging.charges_g_per_l[number - 1]
    return steps.add(
        "rest",
        "bench",
        "rest",
        "Rest, back in the cold.",
        ("about", Quantity("co2", level.typical)),
        ("at least", Quantity("co2", level.low)),
        timer_s=charging.plan.rest_s,
        hands_on_s=0.0,
        depends_on=(shaken,),
    )


_MOVE = {"shaken": "shake", "rocked": "rock", "still": "stand"}


def _check_charge(sheet: PrepSheet, steps: Steps, charged: int) -> int:
    gauge = sheet.charging.rest_bar_gauge
    rested = steps.add(
        "rest",
        "bench",
        "cold-rest",
        "Stand upright in the cold before the first opening.",
        timer_s=COLD_REST_S,
        hands_on_s=30.0,
        depends_on=(charged,),
    )
    if gauge.high <= 0.0:
        return rested
    return steps.add(
        "check",
        "bench",
        "gauge-at-rest",
        "Gauge one vessel at rest, cold. Over the higher figure: stop, and ask the manager.",
        ("from", Quantity("pressure", gauge.low) if gauge.low > 0.0 else "nothing"),
        ("to", Quantity("pressure", gauge.high)),
        depends_on=(rested,),
        caution="Open slowly, away from faces.",
    )


def _label(sheet: PrepSheet, steps: Steps, before: int) -> int:
    return steps.add(
        "label",
        "bench",
        "label-vessels",
        "Label every vessel.",
        *label_of(sheet).lines,
        hands_on_s=15.0 * sheet.fill.count,
        depends_on=(before,),
    )

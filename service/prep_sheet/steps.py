"""The steps of a sheet in the order of work, the records to keep, and the label.

Order and hands-on times: common practice, no source. A step's text has no numbers; they stand in its values.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from service.notes import Value
from service.prep_sheet.parts import PrepSheet
from service.science.units import Quantity

Station = Literal["manager", "bench", "bar"]

COLD_REST_S = 1800.0
"""Upright and cold before the first opening [s]; common practice, no source (30 min to 12 h)."""
COLD_HOLD_C = 5.0
"""Warmest a batch is held [degC]; common practice, no source: local food code decides."""
LOW_ACID_PH = 4.6
"""Above it a drink is low-acid; 21 CFR 114.3."""
LABEL_STATEMENT = "In-house, not for sale."


@dataclass(frozen=True)
class Step:
    """One thing to do. depends_on: numbers of the steps that must be done before."""

    number: int
    kind: str
    station: Station
    code: str
    text: str
    values: tuple[tuple[str, Value], ...] = ()
    timer_s: float | None = None
    hands_on_s: float = 60.0
    depends_on: tuple[int, ...] = ()
    caution: str | None = None


@dataclass(frozen=True)
class Record:
    """Something to write down, its limit, and what to do when it is passed."""

    code: str
    point: str
    limit: Value
    action: str


@dataclass(frozen=True)
class Label:
    """What goes on every vessel."""

    name: str
    lines: tuple[tuple[str, Value], ...]
    statement: str = LABEL_STATEMENT


class _Steps:
    """Numbers the steps as they are written down."""

    def __init__(self) -> None:
        self.done: list[Step] = []

    def add(self, kind: str, station: Station, code: str, text: str, *values: tuple[str, Value], **more: object) -> int:
        self.done.append(Step(len(self.done) + 1, kind, station, code, text, values, **more))  # type: ignore[arg-type]
        return len(self.done)


def steps_of(sheet: PrepSheet) -> tuple[Step, ...]:
    """Everything to do, in order."""
    steps = _Steps()
    _shop(sheet, steps)
    solutions = tuple(_solutions(sheet, steps))
    mixed = _mix(sheet, steps, solutions)
    chilled = _chill(sheet, steps, mixed)
    inspected = steps.add(
        "inspect",
        "bench",
        "inspect-vessels",
        "Inspect every vessel and seal. Creased, whitened, bulged, dropped or of unknown age: bin it.",
        ("vessels", _vessels(sheet)),
        hands_on_s=20.0 * sheet.fill.count,
    )
    charged = _charge(sheet, steps, _fill(sheet, steps, (chilled, inspected)))
    _serve(sheet, steps, charged)
    return tuple(steps.done)


def _vessels(sheet: PrepSheet) -> str:
    return f"{sheet.fill.count} x {sheet.fill.vessel.name}"


def _shop(sheet: PrepSheet, steps: _Steps) -> None:
    cost = sheet.batch.cost
    if cost is None:
        return
    bought = tuple((p.component, f"{p.packages} package{'s' * (p.packages != 1)}") for p in cost.purchases)
    steps.add("shop", "manager", "buy", "Have in the house, in whole packages.", *bought, hands_on_s=300.0)


def _solutions(sheet: PrepSheet, steps: _Steps) -> Iterator[int]:
    """One step an acid solution, its products in weighing order."""
    for named in sheet.solutions:
        lines = tuple((line.name, Quantity("mass", line.measure_g)) for line in named.solution.weigh)
        yield steps.add(
            "weigh",
            "bench",
            "make-acid-solution",
            f"Make the {named.component}. Weigh in this order and stir until clear.",
            *lines,
            hands_on_s=90.0 * len(lines),
            caution="Acid into water, never water into acid. Goggles and gloves.",
        )


def _mix(sheet: PrepSheet, steps: _Steps, before: tuple[int, ...]) -> int:
    scale = sheet.asked.site.scale if sheet.asked.site else None
    if scale is not None:
        lines = tuple(
            (
                w.component,
                Quantity("mass", share.measure_g) if share.times == 1 else f"{share.times} x {share.measure_g:g} g",
            )
            for w in sheet.batch.weighing
            for share in w.shares
        )
        text = "Weigh the batch in this order, taring after each line; the small strong ones on their own."
    else:
        lines = tuple(
            (line.glass.component.name, line.measure) for line in sheet.batch.components if line.measure is not None
        )
        text = "Measure the batch and stir until even."
    return steps.add("mix", "bench", "mix-batch", text, *lines, hands_on_s=45.0 * len(lines), depends_on=before)


def _chill(sheet: PrepSheet, steps: _Steps, mixed: int) -> int:
    chilling = sheet.chilling
    if chilling.time_s.high == 0.0:
        return mixed
    return steps.add(
        "chill",
        "bench",
        "chill-batch",
        f"Chill in {chilling.environment.replace('-', ' ')}, in vessels no larger than the bottles. "
        "Check when the timer rings.",
        ("to", Quantity("temperature", chilling.goal_c)),
        ("never below", Quantity("temperature", chilling.lowest_safe_c, "up")),
        timer_s=chilling.first_check_s,
        hands_on_s=120.0,
        depends_on=(mixed,),
    )


def _fill(sheet: PrepSheet, steps: _Steps, before: tuple[int, ...]) -> int:
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
        values = [("purges", f"{air.times}"), ("each at", Quantity("pressure", air.pressure_bar_gauge))]
    return steps.add("air", "bench", "take-air-out", text, *values, hands_on_s=20.0 * fill.count, depends_on=(filled,))


def _charge(sheet: PrepSheet, steps: _Steps, sealed: int) -> int:
    charging = sheet.charging
    last = steps.add(
        "set",
        "bench",
        "set-regulator",
        "Back the regulator off, stand aside, open the cylinder slowly, then set.",
        ("dial", Quantity("pressure", charging.dial_bar_gauge)),
        ("never over", Quantity("pressure", charging.never_over_bar_gauge, "down")),
        depends_on=(sealed,),
        caution="Bottle upright, non-return valve fitted. Never leave a bottle connected unattended.",
    )
    for number in range(1, len(charging.charges_g_per_l) + 1):
        last = _one_charge(sheet, steps, number, last)
    return _check_charge(sheet, steps, last)


def _one_charge(sheet: PrepSheet, steps: _Steps, number: int, before: int) -> int:
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
        "Rest, cold.",
        ("about", Quantity("co2", level.typical)),
        ("at least", Quantity("co2", level.low)),
        timer_s=charging.plan.rest_s,
        hands_on_s=0.0,
        depends_on=(shaken,),
    )


_MOVE = {"shaken": "shake", "rocked": "rock", "still": "stand"}


def _check_charge(sheet: PrepSheet, steps: _Steps, charged: int) -> int:
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
    checked = steps.add(
        "check",
        "bench",
        "gauge-at-rest",
        "Gauge one vessel at rest, cold. Over the higher figure: stop, and ask the manager.",
        ("from", Quantity("pressure", gauge.low)),
        ("to", Quantity("pressure", gauge.high)),
        depends_on=(rested,),
        caution="Open slowly, away from faces.",
    )
    return steps.add(
        "label",
        "bench",
        "label-vessels",
        "Label every vessel.",
        *label_of(sheet).lines,
        hands_on_s=15.0 * sheet.fill.count,
        depends_on=(checked,),
    )


def _serve(sheet: PrepSheet, steps: _Steps, labelled: int) -> None:
    held = steps.add(
        "hold",
        "bar",
        "hold-cold",
        "Hold cold and upright, out of sun and away from heat.",
        ("not over", Quantity("temperature", COLD_HOLD_C)),
        hands_on_s=0.0,
        depends_on=(labelled,),
    )
    poured = steps.add(
        "pour",
        "bar",
        "pour",
        "Open slowly, pour gently down the side, close at once.",
        ("each serve", Quantity("volume", sheet.batch.serve_ml)),
        hands_on_s=15.0,
        depends_on=(held,),
    )
    _regas(sheet, steps, poured)


def _regas(sheet: PrepSheet, steps: _Steps, poured: int) -> None:
    forecast = sheet.forecast
    if forecast is None or forecast.recharge is None:
        return
    steps.add(
        "regas",
        "bar",
        "regas",
        "Re-gas before this pour of a bottle: squeeze, connect, shake, disconnect, rest. At most twice a bottle.",
        ("pour", f"{forecast.recharge.before_pour}"),
        ("dial", Quantity("pressure", forecast.recharge.dial_bar_gauge, "down")),
        timer_s=forecast.recharge.shake_s,
        hands_on_s=90.0,
        depends_on=(poured,),
        caution="Never below a third full, and never over the bench's limit.",
    )


def records_of(sheet: PrepSheet) -> tuple[Record, ...]:
    """What the manager keeps: temperature, pressure, pH where it matters, discard."""
    cold, most = Quantity("temperature", COLD_HOLD_C), Quantity("pressure", sheet.charging.never_over_bar_gauge, "down")
    records = [
        Record("temperature-when-charged", "Temperature when charged", cold, "Chill again before charging."),
        Record("regulator", "Regulator setting", most, "Back off, vent, and do not use the vessels charged."),
        Record("cold-hold", "Temperature while held", cold, "Move to the cold; discard as local code says."),
        Record("ph", "pH of the batch, measured", LOW_ACID_PH, "Over it: discard as local code says."),
    ]
    if sheet.batch.use_by is not None:
        records.append(
            Record("discard", "Discard", _moment(sheet.batch.use_by), "Empty and clean the vessel, count the cycle.")
        )
    return tuple(records)


def _moment(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"


def label_of(sheet: PrepSheet) -> Label:
    """What goes on every vessel; dates only where the request gave one."""
    asked, batch = sheet.asked, sheet.batch
    lines: list[tuple[str, Value]] = []
    if asked.lot is not None:
        lines.append(("lot", asked.lot))
    if asked.made_at is not None:
        lines.append(("made", _moment(asked.made_at)))
    if batch.use_by is not None:
        lines.append(("discard", _moment(batch.use_by)))
    lines.append(("strength", f"{batch.drink.abv:.1f} %vol"))
    lines.append(("allergens", ", ".join(sorted(batch.allergens)) or "none declared"))
    return Label(asked.spec.name, tuple(lines))

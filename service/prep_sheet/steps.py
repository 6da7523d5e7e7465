"""The steps of a sheet in the order of work.

Order and hands-on times: common practice, no source. A step's text has no numbers; they stand in its values.
"""

from collections.abc import Iterator

from service import acid
from service.batching import Batch, Weighing, amount_of, bears_at_once
from service.errors import Measure, Term
from service.notes import Value
from service.prep_sheet.ahead import clear, clear_one, unclear_parts
from service.prep_sheet.bar import serve
from service.prep_sheet.charging import air_out, charge
from service.prep_sheet.parts import Parts
from service.prep_sheet.step import Step, StepCaution, Steps, StepValue, Timer, component
from service.prep_sheet.tap import tap
from service.science.acids import FORMS
from service.science.ingredients import INGREDIENTS
from service.science.units import Quantity


def steps_of(sheet: Parts) -> tuple[Step, ...]:
    """Return everything to do, in order."""
    steps = Steps()
    serve(sheet, steps, vessel_steps(sheet, steps, mixing_steps(sheet, steps)))
    return tuple(steps.done)


def mixing_steps(sheet: Parts, steps: Steps) -> int:
    """Write down all up to the mixed batch; the number of the last step."""
    bought = _shop(sheet, steps)
    stocks = clear(sheet, steps, bought)
    solutions = tuple(_solutions(sheet, steps, bought))
    made = tuple(_make_first(sheet, steps, (bought, *stocks, *solutions)))
    return _mix(sheet, steps, (bought, *stocks, *solutions, *made))


def vessel_steps(sheet: Parts, steps: Steps, mixed: int) -> int:
    """Write down how the vessels are filled, chilled, charged and labelled; the number of the last step.

    mixed: number of the step that mixes the batch
    """
    inspected = _inspect(sheet, steps)
    sealed = air_out(sheet, steps, _fill(sheet, steps, (inspected, mixed)))
    return charge(sheet, steps, _chill(sheet, steps, sealed))


def tap_steps(sheet: Parts, steps: Steps, labelled: int) -> int:
    """Write down how a keg goes on its line, if there is one, and how its pour is checked; the last step's number."""
    return labelled if sheet.line is None else tap(sheet, sheet.line, steps, labelled)


def _inspect(sheet: Parts, steps: Steps) -> int:
    fill = sheet.fill
    text = {
        "bottle": "Inspect every bottle and seal. Bin what is creased, whitened, bulged, dropped or of unknown age.",
        "keg": "Inspect every keg: stamp, seals, relief valve. Set aside what is dented, dropped or has no stamp.",
    }[fill.each.kind]
    values = (StepValue("vessels", "vessels", float(fill.count)), StepValue("vessel", "kind", fill.each.said))
    return steps.add("inspect", "bench", "inspect-vessels", text, *values, hands_on_s=20.0 * fill.count)


def _shop(sheet: Parts, steps: Steps) -> int:
    """Write down the shopping: whole packages where their content is known, and the acids for the solutions."""
    lines: list[StepValue] = []
    for line in sheet.batch.shopping:
        if line.bought is not None:
            packages = float(line.bought.packages)
            lines.append(StepValue("packages", "{name}, packages", packages, {"name": line.component}))
        elif line.supply.component.acid_solution is None:
            lines.append(component(line.component, line.amount))
    for named in sheet.solutions:
        lines += (
            component(_product(line), Quantity("mass", line.mass_g)) for line in named.solution.weigh if line.form
        )
    return steps.add("shop", "manager", "buy", "Get these in.", *lines, hands_on_s=300.0)


def _solutions(sheet: Parts, steps: Steps, before: int) -> Iterator[int]:
    """Write down one step for each acid solution, its products in weighing order, the rest of the water last."""
    for named in sheet.solutions:
        *first, last = named.solution.weigh
        lines = [component(_product(line), _weighed(line)) for line in first]
        text = "{component}" if last.form else "{component}, to make up"
        yield steps.add(
            "weigh",
            "bench",
            "make-acid-solution",
            "Make the {component}. Weigh in this order, and stir until clear.",
            *lines,
            StepValue("component", text, _weighed(last), {"component": _product(last)}),
            params={"component": named.component},
            hands_on_s=90.0 * (len(lines) + 1),
            depends_on=(before,),
            cautions=(_ACID_INTO_WATER,) if acid.burns(named.solution.mix) else (),
        )


_ACID_INTO_WATER = StepCaution(
    "acid-into-water", "danger", "Goggles and gloves on. Pour acid into water, never water into acid."
)


def _make_first(sheet: Parts, steps: Steps, before: tuple[int, ...]) -> Iterator[int]:
    """Write down how components with a spec of their own are made, and cleared where they are not clear."""
    for line in sheet.batch.components:
        whole = line.whole
        if not whole.made_of:
            continue
        cleared = list(unclear_parts([whole]))  # the losses of those are gone by now
        taken = [part if part in cleared else part.times(part.started) for part in whole.made_of]
        made = steps.add(
            "make",
            "bench",
            "make-first",
            "Make the {component} first. Measure in this order, and stir until even.",
            *(component(part.component.name, amount_of(part)) for part in taken),
            StepValue("comes-to", "comes to, at least", amount_of(whole)),
            params={"component": line.name},
            hands_on_s=45.0 * len(taken),
            depends_on=before,
        )
        yield clear_one(whole, steps, made) if whole in cleared else made


def _product(line: acid.Weighing) -> Term:
    """Return the product to take from the shelf: its hydrate or strength matters as much as the acid."""
    return Term(line.name if line.form is None else FORMS[line.form].said)


def _weighed(line: acid.Weighing) -> Value:
    if line.measure_g:
        return Quantity("mass", line.measure_g)
    return Term("{mass}, under a step of the scale", mass=Measure(float(f"{line.mass_g:.2g}"), "g"))


def _mix(sheet: Parts, steps: Steps, before: tuple[int, ...]) -> int:
    """Write down the mixing, by mass where the site has a scale, by volume otherwise, in the same order."""
    scale = sheet.asked.site.scale if sheet.asked.site else None
    takes: tuple[StepValue, ...] = ()
    cautions: list[StepCaution] = []
    if scale is not None:
        cautions.append(_TARE)
        if scale.capacity_g is not None and not bears_at_once(scale, sheet.batch.totals.mass_g):
            cautions = [_APART]
            most = Quantity("mass", scale.capacity_g)
            takes = (StepValue("scale-takes", "the scale takes, jug included", most),)
    if sparkling(sheet.batch):
        cautions.append(_SPARKLING)
    lines = tuple(_measured(sheet) if scale is None else _weighings(sheet))
    return steps.add(
        "mix",
        "bench",
        "mix-batch",
        "Take in this order, and stir until even.",
        *takes,
        *lines,
        hands_on_s=45.0 * len(lines),
        depends_on=before,
        cautions=tuple(cautions),
    )


_TARE = StepCaution("tare-each", "info", "Weigh, and tare after each line.")
_APART = StepCaution("weigh-apart", "info", "Weigh each line in its own jug, then combine in this order.")


_SPARKLING = StepCaution("sparkling-last", "info", "Put what sparkles in last, cold, and fold it in gently.")


def sparkling(batch: Batch) -> set[str]:
    """Return the names of components that bring CO2, or are sold sparkling whether it is stated or not."""
    return {
        line.name for line in batch.components
        if line.glass.co2_g > 0.0 or _sold_sparkling(line.whole.component.reference)
    }  # fmt: skip


def _sold_sparkling(reference: str | None) -> bool:
    known = INGREDIENTS.get(reference or "")
    return known is not None and known.sparkles


def _in_order(sheet: Parts) -> list[Weighing]:
    """Return the working order of weighing, with sparkling components at its end."""
    last = sparkling(sheet.batch)
    return sorted(sheet.batch.weighing, key=lambda weighing: weighing.component in last)


def _measured(sheet: Parts) -> Iterator[StepValue]:
    measures = {line.name: line.measure for line in sheet.batch.components}
    for weighing in _in_order(sheet):
        measure = measures[weighing.component]
        if measure is not None:
            yield component(weighing.component, measure)


def _weighings(sheet: Parts) -> Iterator[StepValue]:
    for weighing in _in_order(sheet):
        yield from _shares(weighing)


def _shares(weighing: Weighing) -> Iterator[StepValue]:
    """Yield the weighings of one line: all at once, or in full jugs and a rest."""
    line = {"component": weighing.component}
    full, texts = "{component}, full jugs", _SHARES
    if weighing.alone:
        full, texts = "{component}, on its own, full jugs", _SHARES_ALONE
    for i, share in enumerate(weighing.shares):
        if share.times > 1:
            yield StepValue("jugs", full, float(share.times), line)
        text = texts["jug" if share.times > 1 else "rest" if i else "all"]
        yield StepValue("component", text, Quantity("mass", share.measure_g), line)


_SHARES = {"jug": "{component}, in each", "rest": "{component}, then", "all": "{component}"}
_SHARES_ALONE = {
    "jug": "{component}, on its own, in each",
    "rest": "{component}, on its own, then",
    "all": "{component}, on its own",
}
"""The name of a line on the scale, for a full jug of it, for what is left over, and for all at once."""


def _fill(sheet: Parts, steps: Steps, before: tuple[int, ...]) -> int:
    fill = sheet.fill
    each_s = max(45.0, 0.012 * fill.liquid_ml)  # a keg jug after jug; common practice, no source
    return steps.add(
        "fill",
        "bench",
        "fill-vessels",
        "Fill each vessel to the line.",
        StepValue("liquid-in-each", "liquid in each", Quantity("volume", fill.liquid_ml)),
        StepValue("left-empty", "left empty", Quantity("volume", fill.headspace_ml)),
        hands_on_s=each_s * fill.count,
        depends_on=before,
    )


def _chill(sheet: Parts, steps: Steps, sealed: int) -> int:
    chilling = sheet.chilling
    if chilling.time_s.high == 0.0:
        return sealed
    fetch_g = chilling.load.ice_to_fetch_g
    ice = (StepValue("ice-to-fetch", "ice to fetch", Quantity("mass", fetch_g, "up")),) if fetch_g else ()
    return steps.add(
        "chill",
        "bench",
        "chill-batch",
        "Chill the filled vessels in {place}. When the timer rings, measure one and cap it again.",
        *ice,
        StepValue("chill-to", "to", Quantity("temperature", chilling.goal_temperature_c)),
        StepValue("chill-usually", "usually after", Quantity("duration", chilling.time_s.typical)),
        StepValue("chill-latest", "at the latest after", Quantity("duration", chilling.time_s.high)),
        StepValue("never-below", "never below", Quantity("temperature", chilling.lowest_safe_c, "up")),
        params={"place": PLACES[chilling.environment]},
        timer=Timer(chilling.first_check_s),
        late_s=chilling.time_s.high,
        hands_on_s=120.0,
        depends_on=(sealed,),
    )


PLACES = {
    "still-freezer": Term("the freezer"),
    "fan-freezer": Term("the freezer with a fan"),
    "fridge": Term("the fridge"),
    "walk-in": Term("the walk-in"),
    "ice-water": Term("ice and water"),
    "stirred-ice-water": Term("ice and water, stirred"),
    "salted-ice": Term("salted ice"),
}
"""The cold places as people call them."""

"""The steps of a sheet in the order of work.

Order and hands-on times: common practice, no source. A step's text has no numbers; they stand in its values.
"""

from collections.abc import Iterator, Sequence

from service import acid
from service.batching import Share, Weighing, amount_of, bears_at_once
from service.notes import Value
from service.prep_sheet.ahead import clear, clear_one, unclear_parts
from service.prep_sheet.bar import serve
from service.prep_sheet.charging import air_out, charge
from service.prep_sheet.parts import Parts
from service.prep_sheet.step import Step, StepCaution, Steps, StepValue, Timer, component
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


def _inspect(sheet: Parts, steps: Steps) -> int:
    fill = sheet.fill
    text = {
        "bottle": "Inspect every bottle and seal. Creased, whitened, bulged, dropped or of unknown age: bin it.",
        "keg": "Inspect every keg: stamp, seals, relief valve. Dented, dropped or without a stamp: set it aside.",
    }[fill.each.kind]
    values = (StepValue("vessels", "vessels", float(fill.count)), StepValue("vessel", "kind", fill.vessel))
    return steps.add("inspect", "bench", "inspect-vessels", text, *values, hands_on_s=20.0 * fill.count)


def _shop(sheet: Parts, steps: Steps) -> int:
    """Write down the shopping: whole packages where their content is known, and the acids for the solutions."""
    lines: list[StepValue] = []
    for line in sheet.batch.shopping:
        if line.bought is not None:
            name = {"name": line.component}
            lines.append(StepValue("packages", "{name}, packages", float(line.bought.packages), name))
        elif line.supply.component.acid_solution is None:
            lines.append(component(line.component, line.amount))
    for named in sheet.solutions:
        lines += (
            component(_product(line), Quantity("mass", line.mass_g)) for line in named.solution.weigh if line.form
        )
    return steps.add("shop", "manager", "buy", "Have in the house.", *lines, hands_on_s=300.0)


def _solutions(sheet: Parts, steps: Steps, before: int) -> Iterator[int]:
    """Write down one step for each acid solution, its products in weighing order, the rest of the water last."""
    for named in sheet.solutions:
        *first, last = named.solution.weigh
        lines = [component(_product(line), _weighed(line)) for line in first]
        rest = _product(last) if last.form else f"{_product(last)}, to make up"
        yield steps.add(
            "weigh",
            "bench",
            "make-acid-solution",
            "Make the {component}. Weigh in this order and stir until clear.",
            *lines,
            component(rest, _weighed(last)),
            params={"component": named.component},
            hands_on_s=90.0 * (len(lines) + 1),
            depends_on=(before,),
            cautions=(_ACID_INTO_WATER,) if acid.burns(named.solution.mix) else (),
        )


_ACID_INTO_WATER = StepCaution(
    "acid-into-water", "danger", "Acid into water, never water into acid. Goggles and gloves."
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
            "Make the {component} first: measure in this order, and stir until even.",
            *(component(part.component.name, amount_of(part)) for part in taken),
            StepValue("comes-to", "comes to, at least", amount_of(whole)),
            params={"component": line.name},
            hands_on_s=45.0 * len(taken),
            depends_on=before,
        )
        yield clear_one(whole, steps, made) if whole in cleared else made


def _product(line: acid.Weighing) -> str:
    """Return the product to take from the shelf: its hydrate or strength matters as much as the acid."""
    return line.name if line.form is None or line.name.startswith(line.form) else f"{line.name} ({line.form})"


def _weighed(line: acid.Weighing) -> Value:
    return Quantity("mass", line.measure_g) if line.measure_g else f"{line.mass_g:.2g} g, under a step of the scale"


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
    if _sparkling(sheet):
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


_SPARKLING = StepCaution("sparkling-last", "info", "What sparkles goes in last, cold, folded in gently.")


def _sparkling(sheet: Parts) -> set[str]:
    return {line.name for line in sheet.batch.components if line.glass.co2_g > 0.0}


def _in_order(sheet: Parts) -> list[Weighing]:
    """Return the working order of weighing, with sparkling components at its end."""
    last = _sparkling(sheet)
    return sorted(sheet.batch.weighing, key=lambda weighing: weighing.component in last)


def _measured(sheet: Parts) -> Iterator[StepValue]:
    measures = {line.name: line.measure for line in sheet.batch.components}
    for weighing in _in_order(sheet):
        measure = measures[weighing.component]
        if measure is not None:
            yield component(weighing.component, measure)


def _weighings(sheet: Parts) -> Iterator[StepValue]:
    for weighing in _in_order(sheet):
        name = f"{weighing.component}, on its own" if weighing.alone else weighing.component
        yield from _shares(name, weighing.shares)


def _shares(name: str, shares: Sequence[Share]) -> Iterator[StepValue]:
    """Yield the weighings of one line: all at once, or in full jugs and a rest."""
    for share in shares:
        if share.times > 1:
            yield StepValue("jugs", "{name}, full jugs", float(share.times), {"name": name})
        label = f"{name}, in each" if share.times > 1 else f"{name}, then" if len(shares) > 1 else name
        yield component(label, Quantity("mass", share.measure_g))


def _fill(sheet: Parts, steps: Steps, before: tuple[int, ...]) -> int:
    fill = sheet.fill
    return steps.add(
        "fill",
        "bench",
        "fill-vessels",
        "Fill each vessel to the line.",
        StepValue("liquid-in-each", "liquid in each", Quantity("volume", fill.liquid_ml)),
        StepValue("left-empty", "left empty", Quantity("volume", fill.headspace_ml)),
        hands_on_s=45.0 * fill.count,
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
    "still-freezer": "the freezer",
    "fan-freezer": "the freezer with a fan",
    "fridge": "the fridge",
    "walk-in": "the walk-in",
    "ice-water": "ice and water",
    "stirred-ice-water": "ice and water, stirred",
    "salted-ice": "salted ice",
}
"""The cold places as people call them."""

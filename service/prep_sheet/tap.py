"""The bar's steps of a drink on draught: the dial of the line, a glass timed, and what to change when it foams."""

from collections.abc import Iterator

from service.draught import DraughtGiven, DraughtLine
from service.errors import Measure
from service.limits.draught import CLEANED_EVERY_S
from service.prep_sheet.parts import Parts
from service.prep_sheet.step import Steps, StepValue
from service.science.units import Quantity


def tap(sheet: Parts, line: DraughtLine, steps: Steps, held: int) -> int:
    """Write down how the keg goes on its line and how the pour is checked; the number of the last step."""
    dial = Quantity("pressure", line.gauge_pressure_bar.typical, "down")
    never_over = Quantity("pressure", line.never_over_bar, "down")
    values = [StepValue("line-dial", "dial on draught", dial), StepValue("never-over", "never over", never_over)]
    gas = sheet.asked.draught and sheet.asked.draught.gas
    if gas:
        values.append(StepValue("line-gas", "CO2 in the gas", Measure(gas.co2_percent, "%")))
    values.append(StepValue("pour-away", "pour away first", Quantity("volume", line.lost.first_pour_ml)))
    connected = steps.add(
        "tap",
        "bar",
        "connect-line",
        "Goggles on. Back the regulator off, set the dial for the line, connect the keg, and pour away until it runs "
        "clear.",
        *values,
        hands_on_s=180.0,
        depends_on=(held,),
    )
    return steps.add(
        "tap",
        "bar",
        "time-pour",
        "Pour one glass into a jug with the tap fully open, by the watch.",
        StepValue("glass", "in the jug", Quantity("volume", line.pour_ml)),
        StepValue("takes-from", "takes, from", _seconds(line.flow.pour_s.low)),
        StepValue("takes-to", "takes, to", _seconds(line.flow.pour_s.high)),
        hands_on_s=30.0,
        depends_on=(connected,),
    )


def when_it_foams(sheet: Parts, line: DraughtLine, steps: Steps, poured: int) -> None:
    """Write down what to look at when it foams."""
    given = sheet.asked.draught
    assert given is not None
    steps.add(
        "foam",
        "bar",
        "when-it-foams",
        "If it foams, check these in this order, and change one thing at a time.",
        *foam_checks(line, given),
        hands_on_s=0.0,
        depends_on=(poured,),
    )


def foam_checks(line: DraughtLine, given: DraughtGiven) -> Iterator[StepValue]:
    """Yield what shows each cause of foam, the likeliest first: warmth, a wrong dial, a rush, dirt, too much CO2.

    source: common practice, no source
    """
    stretches = enumerate(line.temperatures_c, start=1)
    warmest, warmest_c = max(stretches, key=lambda one: one[1])
    yield StepValue("keg-at-most", "keg, no warmer than", Quantity("temperature", line.keg_c, "up"))
    yield StepValue(
        "line-at-most", "line, stretch {number}, no warmer than", Quantity("temperature", warmest_c, "up"),
        {"number": float(warmest)},
    )  # fmt: skip
    yield StepValue("dial-at", "dial, at", Quantity("pressure", line.gauge_pressure_bar.typical, "down"))
    yield StepValue("not-faster", "a glass, no faster than", _seconds(line.flow.pour_s.low))
    if line.balanced_length_m is not None:
        length = Quantity("length", line.balanced_length_m.typical)
        yield StepValue("last-stretch", "last stretch of line, about", length)
    every_s = given.cleaning.every_s or CLEANED_EVERY_S
    yield StepValue("cleaned-within", "line cleaned within", Quantity("duration", every_s))
    if line.rest_gauge_bar is None:
        yield StepValue("level-about", "CO2 in the keg, about", Quantity("co2", line.target_g_per_l))
    else:
        rest = Quantity("pressure", line.rest_gauge_bar)
        yield StepValue("rest-gauge", "gauge of the keg at rest, gas shut, about", rest)


def _seconds(seconds: float) -> Measure:
    """Return the time of a pour, to the digits that it is known to."""
    return Measure(float(f"{seconds:.2g}"), "s")

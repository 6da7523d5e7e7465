"""Readings that cannot be used, or that together do not tell the constant, are refused."""

from collections.abc import Iterator
from itertools import pairwise

from service.calibration import REACH_OF_90_PERCENT, believed
from service.errors import Fact, Fault, Refused, Term
from service.limits.readings import LEAST_POUR_LOSS, LEAST_READINGS, MOST_FITTED_REACH, MOST_POUR_LOSS, MOST_REACH
from service.limits.safety import GAUGE_ERROR_BAR, LEAST_FACTOR, MOST_FACTOR
from service.notes import Notes
from service.regas.calibrating.asked import Kind
from service.regas.calibrating.bench import Bench, Compared, start_level
from service.regas.calibrating.errors import Uncertainty, cold_spread
from service.regas.case import more_than_held
from service.safety import beyond_equations
from service.science.band import Band
from service.science.gas import GAS_PRESSURE_LIMIT_BAR_ABS
from service.science.least_squares import Fit
from service.science.units import Quantity
from service.science.validity import OutsideValidity

MOST_STATED = 1e6
"""A reach is stated as no more; where no reading depends on the constant it has no end."""
NEXT = {
    "readings": Term("Take more readings, over a wider span of times."),
    "scale": Term("Weigh to a tenth of the present step, or more drink at a time."),
    "start": Term("Read the first gauge more finely, or start from a higher pressure."),
    "gauge": Term("Work at a higher pressure, or with a finer gauge."),
    "fill": Term("Use a bottle less full, where the headspace is known better, or weigh on the regulator."),
    "thermometer": Term("Let drink and vessel come to one steady temperature."),
    "solubility": Term("Weigh what the drink takes up instead of reading the gauge."),
    "foam": Term("Rest the bottle cold for longer, and weigh it after opening."),
    "warmth": Term("Read it as cold as it is charged."),
    "volume": Term("Measure what is poured, or weigh it."),
}
"""Advice on what to measure next, by the largest error."""


def check_readings(kind: Kind, bench: Bench, notes: Notes) -> None:
    """Refuse readings that contradict each other, or say nothing.

    raises: Refused ("impossible-reading", "readings-cannot-tell")
    """
    _check_flat(kind, bench)
    _check_reached(bench)
    if kind == "pour":
        _check_pour(bench)
    faults = [*_out_of_order(kind, bench), *_without_co2(kind, bench)]
    if not faults:
        faults = [*_overdrawn(kind, bench)]
    if faults:
        raise Refused("impossible-reading", faults)  # what was read is not rewritten
    _check_enough(kind, bench)
    _caution_pressure(bench, notes)


def _check_flat(kind: Kind, bench: Bench) -> None:
    if kind in ("solubility", "uptake") and bench.setting.brought_g_per_l > 0.0:
        text = "Calibrate with a flat drink: how much of the CO2 of its components outlives mixing is not known."
        brought = Fact("co2_of_the_components", Quantity("co2", bench.setting.brought_g_per_l))
        raise Refused("readings-cannot-tell", [Fault("/drink", "brings-co2", text)], facts=[brought])


def _check_pour(bench: Bench) -> None:
    """Refuse a pour of more than the vessel holds, and one that is gauged in a bottle with gas over it.

    raises: Refused ("pour-too-large", "air-handling")
    """
    if bench.poured_l > bench.setting.liquid_l * (1.0 + 1e-12):
        raise more_than_held(1000.0 * bench.setting.liquid_l)
    if not bench.is_weighed and bench.setting.air.method != "squeezed":
        text = "Weigh it: a pour is gauged only in a soft bottle with the air squeezed out of it."
        raise Refused("air-handling", [Fault("/air/method", "not-squeezed", text)])


def _check_reached(bench: Bench) -> None:
    """Refuse a gauge that the gas equations do not reach, error and all.

    raises: Refused ("impossible-reading")
    """
    most = GAS_PRESSURE_LIMIT_BAR_ABS - GAUGE_ERROR_BAR
    for i, reading in enumerate(bench.readings):
        if reading.gauge + bench.setting.ambient_bar > most:
            outside = OutsideValidity("pressure", reading.gauge, 0.0, most, "bar")
            raise beyond_equations(outside, f"/readings/{i}/gauge_pressure")


def _no_start(kind: Kind, bench: Bench) -> bool:
    """Tell whether every reading is one of the constant; otherwise the first is that of the start."""
    return kind == "solubility" or (kind == "uptake" and bench.is_weighed)


def _out_of_order(kind: Kind, bench: Bench) -> Iterator[Fault]:
    if kind in ("solubility", "pour"):
        return
    times = [reading.at_s for reading in bench.readings]
    if not _no_start(kind, bench) and times[0] > 0.0:
        yield Fault("/readings/0/elapsed", "not-at-the-start", "The first reading is that of the start, at 0.")
    for i, (before, now) in enumerate(pairwise(times), start=1):
        if now < before:
            yield Fault(f"/readings/{i}/elapsed", "not-in-order", "Readings stand in the order of their times.")


def _without_co2(kind: Kind, bench: Bench) -> Iterator[Fault]:
    """Find a gauge that shows no more than air and vapour do, or that may as well stand at zero."""
    least_mol = _error_mol(bench)
    asked = bench.readings[: None if _no_start(kind, bench) else 1]
    for i, reading in enumerate(asked):
        gas_mol, level = bench.at_rest(bench.liquid, reading.gauge)
        if not (gas_mol > least_mol and level > 0.0):
            text = (
                "Charge it first: this gauge shows no more than the air and the vapour, and there is no CO2 to measure."
            )
            yield Fault(f"/readings/{i}/gauge_pressure", "no-co2", text)
    for i, reading in enumerate(bench.readings[len(asked) :], start=len(asked)):
        if reading.gauge_pressure_bar is not None and not reading.gauge > GAUGE_ERROR_BAR:
            least = Quantity("pressure", GAUGE_ERROR_BAR, "up")
            text = "Read it again: below {least} a gauge may as well stand at zero, and a soft bottle gives way."
            yield Fault(f"/readings/{i}/gauge_pressure", "at-zero", text, (("least", least),))


def _error_mol(bench: Bench) -> float:
    """Return the CO2 in the headspace that the error of a gauge stands for [mol]."""
    return GAUGE_ERROR_BAR * bench.setting.headspace_l / bench.liquid.gas.rt


def _overdrawn(kind: Kind, bench: Bench) -> Iterator[Fault]:
    """Find a scale that shows less than the headspace holds, a loss that is a gain, a gain that is a loss."""
    if kind == "uptake" and not bench.is_weighed:
        gas_mol, _ = bench.at_rest(bench.liquid, bench.readings[0].gauge)
        if not start_level(bench, gas_mol) >= 0.0:
            text = "Weigh it again: by its gauge the headspace alone holds more CO2 than was weighed."
            yield Fault("/readings/0/mass_after", "less-than-headspace", text)
        return
    for i, reading in enumerate(bench.readings if kind in ("solubility", "uptake") else ()):
        if reading.is_weighed and not bench.gained_g(reading) > 0.0:
            yield Fault(
                f"/readings/{i}/mass_after",
                "nothing-gained",
                "Weigh it again: a charged vessel weighs more than before.",
            )


def _check_enough(kind: Kind, bench: Bench) -> None:
    used = bench.readings[0 if _no_start(kind, bench) else 1 :]
    facts = [Fact("readings", float(len(used))), Fact("least_readings", float(LEAST_READINGS))]
    if len(used) < LEAST_READINGS:
        text = "Take {least} readings or more after the start; these are {found}."
        if len(used) == len(bench.readings):
            text = "Take {least} readings or more; these are {found}."
        params = (("least", float(LEAST_READINGS)), ("found", float(len(used))))
        raise Refused("readings-cannot-tell", [Fault("/readings", "too-few-readings", text, params)], facts=facts)
    if kind in ("uptake", "loss") and len({reading.at_s for reading in used if reading.at_s > 0.0}) < 2:
        text = "Read after different times: a rate does not show in readings after the same one."
        raise Refused("readings-cannot-tell", [Fault("/readings", "no-spread", text)], facts=facts)


def _caution_pressure(bench: Bench, notes: Notes) -> None:
    limit = bench.setting.vessel.closed_limit_bar_gauge
    over = tuple(f"/readings/{i}/gauge_pressure" for i, r in enumerate(bench.readings) if r.gauge > limit)
    if over:
        text = (
            "Do not go there again: this is over the closed limit of the vessel, {limit}. Do not touch, carry or shake "
            "it: cool it where it stands, upright and behind a barrier, and vent it only once it is cold, slowly, away "
            "from faces. A cap is no relief valve."
        )
        notes.caution("reading-over-limit", "danger", text, at=over, limit=Quantity("pressure", limit, "down"))


def sought(kind: Kind, model: Band) -> tuple[float, float]:
    """Return the ends of the search for the constant: past those that are accepted, so that what is past them shows."""
    if kind == "solubility":
        return 0.75 * LEAST_FACTOR, 1.25 * MOST_FACTOR
    if kind == "pour":
        return 0.5 * LEAST_POUR_LOSS, 1.0
    low, high = believed(model)
    return 0.5 * low, 1.5 * high


def accepted(kind: Kind, model: Band) -> tuple[float, float]:
    """Return the ends between which the constant is believed."""
    if kind == "solubility":
        return LEAST_FACTOR, MOST_FACTOR
    if kind == "pour":
        return LEAST_POUR_LOSS, MOST_POUR_LOSS
    return believed(model)


def check_told(kind: Kind, bench: Bench, seen: Compared, fit: Fit, found: Uncertainty, model: Band) -> None:
    """Refuse a value that no drink or vessel has, or that is known no better than without the readings.

    raises: Refused ("readings-cannot-tell")
    """
    low, high = accepted(kind, model)
    most = min(MOST_REACH, cold_spread(bench)) if kind == "solubility" else MOST_FITTED_REACH
    reach = REACH_OF_90_PERCENT * found.standard_error / fit.value
    facts = [Fact("value", fit.value), Fact("lowest", low), Fact("highest", high), Fact("most_reach", most),
             Fact("reading_error", Quantity(seen.kind, found.reading_error)),
             Fact("scatter", Quantity(seen.kind, fit.scatter))]  # fmt: skip
    if not low <= fit.value <= high:
        text = "Check the readings, the fill and the drink: together they come to {value}, outside {low} to {high}."
        implausible = Fault("/readings", "implausible", text, (("value", fit.value), ("low", low), ("high", high)))
        raise Refused("readings-cannot-tell", [implausible], facts=facts)
    if not reach <= most:
        text = (
            "{next} The readings tell the value to {reach} of itself, and to be of use it takes {most}. The largest "
            "error is {largest}."
        )
        told = min(reach, MOST_STATED)
        params = (("reach", told), ("most", most), ("largest", Term(found.largest)), ("next", NEXT[found.largest]))
        facts.append(Fact("reach", told))
        raise Refused("readings-cannot-tell", [Fault("/readings", "too-uncertain", text, params)], facts=facts)

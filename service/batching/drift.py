"""The drift of a drink by rounding: of its balance, and of the dial that it is charged with."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from service.batching.measures import Line
from service.batching.weighing import Weighing
from service.declared import ACIDITY, PRESSURE, SUGAR, THREE_WAYS, Declared, shape
from service.drink import Drink
from service.limits.readings import DRIFT_C, DRIFT_CO2_G_PER_L
from service.notes import Notes
from service.science import mixture
from service.science.gas import pressure_for_bar_abs
from service.science.units import Quantity
from service.science.validity import OutsideValidity


@shape("RoundingDrift")
@dataclass(frozen=True)
class Drift:
    """The drink as rounded less the drink as written.

    ratio_percent: how far the ratio of two components is off at most
    set_point_bar: of the gauge pressure that holds the CO2 level of the assumptions; None where the science ends
    """

    ratio_percent: Declared[float]
    abv: Declared[float]
    sugar_g_per_l: Annotated[float, SUGAR]
    titratable_acidity_meq_per_l: Annotated[float, ACIDITY, THREE_WAYS]
    set_point_bar: Annotated[float | None, PRESSURE]


@dataclass(frozen=True)
class BatchRounding:
    """What rounding does to the drink, by the practical measures and on the scale.

    factor: the batch over the size asked for; other than 1 only where it may vary so that whole steps fit
    by_measure, by_scale: None where what is left of a component is nothing
    """

    factor: Declared[float]
    by_measure: Declared[Drift | None]
    by_scale: Declared[Drift | None]


def rounding_of(
    lines: Sequence[Line], weighing: Sequence[Weighing], drink: Drink, factor: float, notes: Notes
) -> BatchRounding:
    """Return the drift of the drink by its practical measures, and by the scale.

    factor: the batch over the size asked for
    """
    where = "at rest under the dial, without air; other levels and temperatures shift much the same"
    notes.assume("CO2 level that the drift of the set-point is for", Quantity("co2", DRIFT_CO2_G_PER_L),
                 "common-practice", where)  # fmt: skip
    notes.assume("temperature that the drift of the set-point is for", Quantity("temperature", DRIFT_C),
                 "common-practice")  # fmt: skip
    on_scale = {w.component: 1.0 + w.drift_percent / 100.0 for w in weighing}
    dial = _dial_bar(drink)
    by_measure = [0.0 if line.drift_percent is None else 1.0 + line.drift_percent / 100.0 for line in lines]
    by_scale = [on_scale[line.name] for line in lines]
    return BatchRounding(factor, _drift(lines, by_measure, drink, dial), _drift(lines, by_scale, drink, dial))


def _drift(lines: Sequence[Line], taken: Sequence[float], drink: Drink, dial_bar: float | None) -> Drift | None:
    """Return the drift of a drink. taken: of each line, as a share of its exact amount"""
    if not min(taken):
        return None
    masses = mixture.together([(line.whole.masses, share) for line, share in zip(lines, taken, strict=True)])
    rounded = Drink(masses, sum([line.whole.acid_meq * share for line, share in zip(lines, taken, strict=True)]))
    rounded_dial = _dial_bar(rounded)
    return Drift(
        ratio_percent=100.0 * (max(taken) / min(taken) - 1.0),
        abv=rounded.abv - drink.abv,
        sugar_g_per_l=rounded.sugar_g_per_l - drink.sugar_g_per_l,
        titratable_acidity_meq_per_l=rounded.acid_meq_per_l - drink.acid_meq_per_l,
        set_point_bar=None if dial_bar is None or rounded_dial is None else rounded_dial - dial_bar,
    )


def _dial_bar(drink: Drink) -> float | None:
    """Return the dial of a drink; None for one too strong or too sweet for the equations of CO2, which is made too."""
    try:
        return pressure_for_bar_abs(drink.absorbs_co2(DRIFT_C), co2_g_per_l=DRIFT_CO2_G_PER_L)
    except OutsideValidity:
        return None

"""One glass, and many of it as they are measured and weighed: the beginning of a batch, wherever it is made."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from service.batching.dilution import Dilution, dilution_water
from service.batching.fills import Fill
from service.batching.measures import Line, Rounding, measured, rounded_best
from service.batching.sizing import Loss, Size, Sized, sized
from service.batching.weighing import BatchRounding, Weighing, rounding_of, weighed
from service.drink import Drink, Portion, Spec, mix, portions
from service.errors import Refusals
from service.notes import Notes
from service.site import Scale


@dataclass(frozen=True)
class Glass:
    """One glass, its dilution water included: as parts, and mixed."""

    parts: tuple[Portion, ...]
    serve: Drink


@dataclass(frozen=True, eq=False)
class Made:
    """A number of glasses, told from others by identity. drink: all of it."""

    serves: int
    glasses: float
    drink: Drink
    components: tuple[Line, ...]
    weighing: tuple[Weighing, ...]
    rounding: BatchRounding
    fills: tuple[Fill, ...]


def glass_of(spec: Spec, dilution: Dilution | None, notes: Notes, refusals: Refusals) -> Glass:
    """Return one glass, whatever is made of it.

    refusals: gathered so far; a dilution that cannot be joins them, and the one that it offers takes its place
    raises: Refused, SeveralRefused where the spec itself cannot be
    """
    parts: tuple[Portion, ...] = ()
    with refusals.gather():
        parts = portions(spec, notes)
    if not parts:
        refusals.raise_all()
    parts += dilution_water(parts, dilution, notes, refusals)
    return Glass(parts, mix(parts))


def make(
    glass: Glass,
    size: Size,
    notes: Notes,
    refusals: Refusals,
    *,
    loss: Loss | None = None,
    rounding: Rounding | None = None,
    scale: Scale | None = None,
    now: datetime | None = None,
) -> Made:
    """Return the glasses that a size makes, by the jug and by the scale.

    refusals: gathered so far
    now: by which the age of vessels is judged
    raises: Refused, SeveralRefused, OutsideValidity
    """
    rounding = rounding or Rounding()
    with refusals.gather():
        asked = sized(size, glass.parts, glass.serve.volume_ml, loss, notes, now=now)
    refusals.raise_any()
    found = _resized(asked, glass.parts, rounding)
    lines = measured(glass.parts, found.glasses, rounding, notes)
    weighing = weighed(lines, scale, notes)
    drink = glass.serve.times(found.glasses)
    return Made(
        serves=found.serves,
        glasses=found.glasses,
        drink=drink,
        components=lines,
        weighing=weighing,
        rounding=rounding_of(lines, weighing, drink, found.glasses / asked.glasses, notes),
        fills=found.fills,
    )


def _resized(asked: Sized, glass: Sequence[Portion], rounding: Rounding) -> Sized:
    """Return the size at which whole steps fit best, as far as it may vary: serves upwards, all else downwards."""
    if not rounding.batch_may_vary_percent:
        return asked
    share = rounding.batch_may_vary_percent / 100.0
    least, most = max(asked.least, asked.glasses * (1.0 - share)), min(asked.most, asked.glasses * (1.0 + share))
    return asked.resized(rounded_best(glass, asked.glasses, rounding, least=least, most=most))

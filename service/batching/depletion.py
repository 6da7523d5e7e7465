"""The amounts that a stock system takes off: for one serve, as a till's recipe line, and for the whole batch."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from service.batching.measures import Line
from service.batching.supplies import Supply, supplies
from service.declared import AMOUNT, text
from service.errors import Measure
from service.notes import Notes, listed
from service.science.units import FACTORS, Kind, Quantity, from_base


@dataclass(frozen=True)
class Depletion:
    """What a stock system takes off, as it is started from: for one glass, and for all that is made, losses included.

    Both are in stock_unit where that is a unit of volume or mass.
    """

    component: Annotated[str, text(200)]
    stock_code: Annotated[str, text(64)]
    stock_unit: Annotated[str | None, text(16)]
    per_serve: Annotated[Quantity | Measure, AMOUNT]
    per_batch: Annotated[Quantity | Measure, AMOUNT]


def depletion_of(lines: Sequence[Line], notes: Notes) -> tuple[Depletion, ...]:
    """Return the depletion of every component with a stock code.

    A component without one that is made from a spec is taken off by the components of that spec.
    """
    coded = {line.name for line in lines if line.glass.component.stock_code is not None}
    lines = [line for line in lines if line.name in coded or line.glass.made_of]
    glass = supplies((line.glass for line in lines), coded)
    whole = supplies((line.whole for line in lines), coded)
    found = tuple(
        _depletion(one, all_of_it, one.component.stock_code)
        for one, all_of_it in zip(glass, whole, strict=True)
        if one.component.stock_code is not None
    )
    _note(found, notes)
    return found


def _depletion(one: Supply, whole: Supply, stock_code: str) -> Depletion:
    stock_unit = one.component.stock_unit
    unit, kind = _unit_of(stock_unit or "")
    per_serve, per_batch = (_amount(taken, kind or one.kind, unit) for taken in (one, whole))
    return Depletion(one.name, stock_code, stock_unit, per_serve, per_batch)


def _amount(taken: Supply, kind: Kind, unit: str | None) -> Quantity | Measure:
    """Return the amount in a unit of the stock system; without one, in that of the answer."""
    amount = taken.in_kind(kind)
    return Quantity(kind, amount) if unit is None else Measure(from_base(kind, amount, unit), unit)


def _unit_of(stock_unit: str) -> tuple[str, Kind] | tuple[None, None]:
    """Return the unit and its kind, where it is one of volume or mass, in whatever case it is written."""
    unit = stock_unit.strip().lower()
    if unit in FACTORS["volume"]:
        return unit, "volume"
    return (unit, "mass") if unit in FACTORS["mass"] else (None, None)


def _note(found: Sequence[Depletion], notes: Notes) -> None:
    if not found:
        return
    notes.assume("depletion", "per_serve is one glass, without losses; per_batch is all that is made", "default",
                 at="/loss")  # fmt: skip
    unknown = [d for d in found if d.stock_unit is not None and isinstance(d.per_serve, Quantity)]
    other = [f"{d.component} ({d.stock_unit})" for d in unknown]
    if other:
        notes.caution("stock-unit-unknown", "info",
                      "Depletion of {components} is in the units of this answer: their stock units are none of "
                      "volume or mass.",
                      at="/spec/components", components=listed(other))  # fmt: skip

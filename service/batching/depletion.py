"""What a stock system takes off: for one serve, as a till's recipe line, and for the whole batch."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.batching.measures import Line
from service.batching.supplies import Supply, supplies
from service.notes import Notes, listed
from service.science.units import FACTORS, Kind, Quantity


@dataclass(frozen=True)
class Depletion:
    """One item of the stock. unit: what both amounts are written in; None for that of the answer.

    per_serve: what one glass takes; per_batch: what all that is made takes, losses included
    """

    component: str
    stock_code: str
    stock_unit: str | None
    unit: str | None
    per_serve: Quantity
    per_batch: Quantity


def depletion_of(lines: Sequence[Line], notes: Notes) -> tuple[Depletion, ...]:
    """Every component with a stock code; what has none but a spec of its own is taken off by that spec's components."""
    coded = {line.name for line in lines if line.glass.component.stock_code is not None}
    lines = [line for line in lines if line.name in coded or line.glass.made_of]
    glass = supplies((line.glass for line in lines), coded)
    whole = supplies((line.whole for line in lines), coded)
    found = tuple(
        _depletion(one, all_of_it, one.component.stock_code)
        for one, all_of_it in zip(glass, whole, strict=True)
        if one.component.stock_code is not None
    )
    _say(found, notes)
    return found


def _depletion(one: Supply, whole: Supply, stock_code: str) -> Depletion:
    stock_unit = one.component.stock_unit
    unit, kind = _unit_of(stock_unit or "")
    kind = kind or one.kind
    per_serve, per_batch = (Quantity(kind, taken.in_kind(kind)) for taken in (one, whole))
    return Depletion(one.name, stock_code, stock_unit, unit, per_serve, per_batch)


def _unit_of(stock_unit: str) -> tuple[str, Kind] | tuple[None, None]:
    """The unit and its kind, where it is one of volume or mass, in whatever case it is written."""
    unit = stock_unit.strip().lower()
    if unit in FACTORS["volume"]:
        return unit, "volume"
    return (unit, "mass") if unit in FACTORS["mass"] else (None, None)


def _say(found: Sequence[Depletion], notes: Notes) -> None:
    if not found:
        return
    notes.assume("depletion", "per_serve is one glass, without losses; per_batch is all that is made", "default",
                 at="/loss")  # fmt: skip
    other = [f"{d.component} ({d.stock_unit})" for d in found if d.stock_unit is not None and d.unit is None]
    if other:
        notes.caution("stock-unit-unknown", "info",
                      "Stock units that are none of volume or mass; depletion is in the units of this answer: "
                      "{components}.",
                      at="/spec/components", components=listed(other))  # fmt: skip

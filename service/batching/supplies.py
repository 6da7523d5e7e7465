"""Supplies that the house takes from its stock or buys, and the amounts that a stock system takes off."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from service.batching.measures import Line
from service.declared import AMOUNT, text
from service.drink import Component, Portion, Spec
from service.errors import Measure
from service.notes import Notes, listed
from service.science.units import FACTORS, Kind, Quantity, from_base


@dataclass(frozen=True)
class Supply:
    """An amount of one component, as it is started from."""

    component: Component
    volume_ml: float
    mass_g: float

    @property
    def name(self) -> str:
        return self.component.name

    def in_kind(self, kind: Kind) -> float:
        """Return the amount by volume [ml] or by mass [g]."""
        return self.volume_ml if kind == "volume" else self.mass_g

    @property
    def kind(self) -> Kind:
        """Kind that the spec writes it in; mass where only part of it is kept, since a yield is by mass."""
        return self.component.amount.quantity.kind if self.component.yield_percent is None else "mass"


def supplies(parts: Iterable[Portion], as_such: Collection[str]) -> list[Supply]:
    """Return the supplies that the parts take, in their order.

    as_such: names that are taken ready made, though the spec tells what they are made from
    """
    return [_supply(taken) for part in parts for taken in _taken(part, as_such)]


def by_name(taken: Iterable[Supply]) -> dict[str, Supply]:
    """Return supplies by name, those of one name together."""
    found: dict[str, Supply] = {}
    for one in taken:
        before = found.get(one.name)
        found[one.name] = one if before is None else Supply(
            before.component, before.volume_ml + one.volume_ml, before.mass_g + one.mass_g
        )  # fmt: skip
    return found


def names_of(spec: Spec) -> list[str]:
    """Return every name that may be taken for a spec: its components, and those of specs they are made from."""
    inner = [name for c in spec.components if c.made_from is not None for name in names_of(c.made_from)]
    return [*(c.name for c in spec.components), *inner]


def _taken(part: Portion, as_such: Collection[str]) -> Iterator[Portion]:
    if not part.made_of or part.component.name in as_such:
        yield part
    else:
        yield from part.made_of


def _supply(part: Portion) -> Supply:
    return Supply(part.component, part.volume_ml * part.started, part.masses.total_g * part.started)


@dataclass(frozen=True)
class Depletion:
    """The depletion in a stock system, as it is started from: for one glass, and for all that is made, losses included.

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
    notes.assume("depletion", "a serve is one glass, without losses; a batch is all that is made", "default",
                 at="/loss")  # fmt: skip
    unknown = [d for d in found if d.stock_unit is not None and isinstance(d.per_serve, Quantity)]
    other = [f"{d.component} ({d.stock_unit})" for d in unknown]
    if other:
        notes.caution("stock-unit-unknown", "info",
                      "Depletion of {components} is in the units of this answer: their stock units are none of "
                      "volume or mass.",
                      at="/spec/components", components=listed(other))  # fmt: skip

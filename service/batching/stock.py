"""The stock in the house: the amounts that a batch takes of it, and the rest."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from math import inf
from typing import Annotated, Literal

from service.batching.measures import Line
from service.batching.supplies import Supply, by_name, supplies
from service.declared import AMOUNT, Declared, amount, shape, text
from service.drink import DILUTION_WATER, Amount, Portion
from service.errors import Fault, Nearest, Refusals, Refused
from service.notes import Notes, listed
from service.science.units import Quantity

_NOISE = 1e-9
"""Relative; stocks that are enough for equally much but for binary fractions run out together."""


@dataclass(frozen=True)
class StockLimit:
    """The component that runs out first, and how much of it there is."""

    component: Annotated[str, "A name in the spec."]
    amount: Annotated[Amount, amount()]


@shape("OnHand")
@dataclass(frozen=True)
class Stock(StockLimit):
    """The stock of a component in the house."""

    component: Annotated[str, f"A name in the spec, or {DILUTION_WATER}."]
    amount: Annotated[Amount, amount(low=0.0)]


@shape("OnHandAnswer")
@dataclass(frozen=True)
class OnHand:
    """A component in the house. runs_out_first: of those that were stated."""

    component: Annotated[str, text(200)]
    amount: Annotated[Quantity, AMOUNT]
    needed: Annotated[Quantity, AMOUNT]
    runs_out_first: Declared[bool]

    @property
    def enough(self) -> bool:
        return self.needed.value <= self.amount.value * (1.0 + _NOISE)

    @property
    def status(self) -> Declared[Literal["enough", "short"]]:
        """Short where more is needed than there is."""
        return "enough" if self.enough else "short"

    @property
    def left_over(self) -> Annotated[Quantity | None, AMOUNT]:
        """Amount that the batch leaves, zero for the noise of binary fractions; None where it is short."""
        if not self.enough:
            return None
        left = self.amount.value - self.needed.value
        return Quantity(self.amount.kind, left if left > self.amount.value * _NOISE else 0.0)

    @property
    def short_by(self) -> Annotated[Quantity | None, AMOUNT]:
        """Amount that is missing; None where there is enough."""
        return None if self.enough else Quantity(self.amount.kind, self.needed.value - self.amount.value)


_TWICE = {"price": "This component has a price already.", "stock": "This component has a stock already."}


def check_components(named: Sequence[str], names: Sequence[str], at: str, of_item: Literal["price", "stock"]) -> None:
    """Refuse an item of a list beside the spec that is about no component of it, or about one that had its item.

    named: component of each item; names: of the spec; at: JSON Pointer of the list; of_item: what an item states
    raises: Refused ("impossible-batch"), SeveralRefused
    """
    refusals = Refusals()
    for i, name in enumerate(named):
        where = f"{at}/{i}/component"
        with refusals.gather():
            if name not in names:
                like = get_close_matches(name, [n for n in names if n not in named], n=1)
                fault = Fault(where, "unknown-component", "The spec has no component of this name.")
                raise Refused("impossible-batch", [fault], nearest=[Nearest(where, n) for n in like])
            if name in named[:i]:
                raise Refused("impossible-batch", [Fault(where, "duplicate", _TWICE[of_item])])
    refusals.raise_any()


def takes_of(parts: Iterable[Portion], stock: Iterable[StockLimit]) -> Mapping[str, Supply]:
    """Return the supplies that the parts take by name: ready made where that is stocked, else those they are made from.

    Supplies of which something is made that is stocked ready made are there too, and nothing is taken of them.
    """
    parts, ready = tuple(parts), {held.component for held in stock}
    idle = (inner.component for part in parts if part.component.name in ready for inner in part.made_of)
    return {one.name: Supply(one, 0.0, 0.0) for one in idle} | by_name(supplies(parts, ready))


def on_hand_of(lines: Sequence[Line], stock: Sequence[StockLimit], notes: Notes) -> tuple[OnHand, ...]:
    """Return each component in the house with the amount that the batch takes of it."""
    if not stock:
        return ()
    taken = takes_of((line.whole for line in lines), stock)
    here = [(held.component, held.amount.quantity) for held in stock if held.component in taken]
    needs = [taken[name].in_kind(amount.kind) for name, amount in here]
    lasts = [amount.value / need if need else inf for (_, amount), need in zip(here, needs, strict=True)]
    first = min(lasts, default=0.0) * (1.0 + _NOISE)
    found = tuple(
        OnHand(name, amount, Quantity(amount.kind, need), last <= first)
        for (name, amount), need, last in zip(here, needs, lasts, strict=True)
    )
    short = [held.component for held in found if not held.enough]
    if short:
        notes.caution("stock-short", "warning", (
            "Get more of {components}: there is not enough in the house for this batch."
        ), at="/on_hand",
                      components=listed(short))  # fmt: skip
    return found

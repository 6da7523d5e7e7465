"""The differences of a spec from another, the standard: line by line, then in the glass."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import isclose
from typing import Annotated

from service.batching.cost import caution_unpriced, cost_of_glass
from service.batching.dilution import Dilution, dilution_water
from service.batching.making import Glass
from service.batching.measures import in_kind
from service.declared import TERM, Declared, Params, Sentence, text
from service.drink import Drink, Portion, Spec, mix, portions
from service.drink.allergens import ALLERGENS
from service.errors import Names, Refusals, Term
from service.limits.batches import SEEN
from service.money import Money, Sum, unrounded
from service.notes import Notes
from service.science.acids import as_g_per_l
from service.science.units import ANSWER_UNITS, Quantity, UnitSystem, from_base
from service.site import Price

Side = Quantity | float | Money | str
_NOTHING = 1e-9
_DIFFERS = {
    "amount-differs": "{what}: {here} here, {standard} in the standard.",
    "volume-differs": "Volume of {what}: {here} here, {standard} in the standard.",
    "abv-differs": "Strength of {what}: {here} %vol here, {standard} %vol in the standard.",
    "sugar-differs": "Sugar of {what}: {here} here, {standard} in the standard.",
    "acidity-differs": "Acid of {what}: {here} here, {standard} in the standard.",
    "allergens-differ": "Allergens of {what}: {here} here, {standard} in the standard.",
    "cost-differs": "Cost of {what}: {here} here, {standard} in the standard.",
    "component-added": "{what}: {here} here, none in the standard.",
    "component-missing": "{what}: none here, {standard} in the standard.",
}
"""Sentences about a difference, by code."""
ONE_GLASS = Term("one glass")


@dataclass(frozen=True)
class Compared:
    """One side of a difference: a number with its unit where it has one, or an amount of money, or a text."""

    value: Declared[float | None] = None
    unit: Annotated[str | None, text(20)] = None
    money: Declared[Money | None] = None
    words: Annotated[str | None, TERM] = None


def _compared(side: Side | None, units: UnitSystem) -> Compared | None:
    """Return one side in the caller's units."""
    if isinstance(side, Quantity):
        unit = ANSWER_UNITS[units][side.kind]
        return Compared(value=from_base(side.kind, side.value, unit), unit=unit)
    if isinstance(side, Money):
        return Compared(money=unrounded(side.amount, side.currency))
    if side is None:
        return None
    return Compared(words=side) if isinstance(side, str) else Compared(value=side)


def _shown(side: Side, units: UnitSystem) -> str | float:
    """Return a side with four digits, so that what differs is seen to."""
    if isinstance(side, Money):
        return Sum(side)
    if not isinstance(side, Quantity):
        return side
    if side.kind == "acidity":
        return Term("{citric} g/l as citric", citric=as_g_per_l(side.value, "citric"))
    unit = ANSWER_UNITS[units][side.kind]
    value = float(f"{from_base(side.kind, side.value, unit):.12g}")  # without the noise of binary fractions
    return Term("{value} {unit}", value=value, unit=unit)


@dataclass(frozen=True)
class Difference:
    """One thing that differs from the standard, of a component or of one glass; a side without it is left out.

    component: None for that of the glass
    ours, theirs: None where that spec has no such component
    units: of the caller
    """

    code: Annotated[str, text(100)]
    component: Annotated[str | None, text(200)]
    what: str
    ours: Side | None
    theirs: Side | None
    units: UnitSystem = "metric"

    @property
    def text(self) -> Sentence:
        """Both sides, as a sentence."""
        return _DIFFERS[self.code]

    @property
    def params(self) -> Params:
        """Values that fill in the text."""
        sides = {"here": self.ours, "standard": self.theirs}
        return {"what": self.what, **{n: _shown(side, self.units) for n, side in sides.items() if side is not None}}

    @property
    def here(self) -> Declared[Compared | None]:
        """The side of the spec that is batched."""
        return _compared(self.ours, self.units)

    @property
    def standard(self) -> Declared[Compared | None]:
        """The side of the standard."""
        return _compared(self.theirs, self.units)


def standard_glass(against: Spec, dilution: Dilution | None, notes: Notes) -> tuple[Portion, ...]:
    """Return one glass of the standard, with as much dilution water as is asked for.

    raises: Refused, SeveralRefused
    """
    refusals = Refusals()
    with notes.within({"/spec": "/against"}):
        glass = portions(against, notes)
        glass += dilution_water(glass, dilution, notes, refusals)
        refusals.raise_any()
    return glass


def differences_of(
    here: Glass, standard: Sequence[Portion], prices: Sequence[Price], units: UnitSystem, notes: Notes
) -> tuple[Difference, ...]:
    """Return the differences between one glass of each, in the caller's units.

    prices: cost is compared where there are any
    """
    cost = _cost(here.parts, standard, prices, notes) if prices else ()
    found = (*_lines(here.parts, standard), *_glass(here.serve, mix(standard)), *cost)
    return tuple([replace(one, units=units) for one in found])


def _lines(here: Sequence[Portion], standard: Sequence[Portion]) -> Iterator[Difference]:
    others = {p.component.name: p for p in standard}
    for portion in here:
        name, kind = portion.component.name, portion.component.amount.quantity.kind
        amount = Quantity(kind, in_kind(portion, kind))
        other = others.pop(name, None)
        if other is None:
            yield Difference("component-added", name, name, amount, None)
            continue
        yield from _differing(amount, Quantity(kind, in_kind(other, kind)), "amount-differs", name, name)
        yield from _analysis(_alone(portion), _alone(other), name)
    for name, other in others.items():
        kind = other.component.amount.quantity.kind
        amount = Quantity(kind, in_kind(other, kind))
        yield Difference("component-missing", name, name, None, amount)


def _alone(portion: Portion) -> Drink:
    """Return the portion as a drink, as far as properties are compared."""
    return Drink(portion.masses, portion.acid_meq, allergens=portion.allergens)


_PROPERTIES: tuple[tuple[str, Callable[[Drink], Side]], ...] = (
    ("abv-differs", lambda drink: drink.abv),
    ("sugar-differs", lambda drink: Quantity("sugar", drink.sugar_g_per_l)),
    ("acidity-differs", lambda drink: Quantity("acidity", drink.acid_meq_per_l)),
    (
        "allergens-differ",
        lambda drink: Names([Term(a) for a in ALLERGENS if a in drink.allergens] or [Term("none")]),
    ),
)


def _analysis(here: Drink, standard: Drink, component: str | None) -> Iterator[Difference]:
    for code, value in _PROPERTIES:
        yield from _differing(value(here), value(standard), code, component or ONE_GLASS, component)


def _glass(here: Drink, standard: Drink) -> Iterator[Difference]:
    one, other = (Quantity("volume", drink.volume_ml) for drink in (here, standard))
    yield from _differing(one, other, "volume-differs", ONE_GLASS, None)
    yield from _analysis(here, standard, None)


def _cost(
    here: Sequence[Portion], standard: Sequence[Portion], prices: Sequence[Price], notes: Notes
) -> Iterator[Difference]:
    caution_unpriced(standard, prices, notes, code="standard-cost-incomplete")
    priced, currency = {price.component: price for price in prices}, prices[0].price.currency
    ours, theirs = ({p.component.name: (p,) for p in glass} for glass in (here, standard))
    for name in dict.fromkeys([*ours, *theirs]):
        one, other = (cost_of_glass(lines.get(name, ()), priced, currency) for lines in (ours, theirs))
        yield from _differing(one, other, "cost-differs", name, name)
    one, other = (cost_of_glass(glass, priced, currency) for glass in (here, standard))
    yield from _differing(one, other, "cost-differs", ONE_GLASS, None)


def _differing(here: Side, standard: Side, code: str, what: str, component: str | None) -> tuple[Difference, ...]:
    """Return the difference, where there is one."""
    if isinstance(here, Quantity) and isinstance(standard, Quantity):
        same = isclose(here.value, standard.value, rel_tol=SEEN, abs_tol=_NOTHING)
    elif isinstance(here, float) and isinstance(standard, float):
        same = isclose(here, standard, rel_tol=SEEN, abs_tol=_NOTHING)
    else:
        same = here == standard
    return () if same else (Difference(code, component, what, here, standard),)

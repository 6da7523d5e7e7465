"""One shopping list for all drinks of an evening: what they take together, less what is in the house."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from math import ceil

from service.batching.supplies import Supply, by_name, supplies
from service.drink import DILUTION_WATER
from service.errors import Fault, Refusals, Refused, Term
from service.evening.answer import EveningPurchase
from service.evening.asked import ServicePlanRequest, prices_of
from service.evening.prepared import Prepared
from service.listed import repeated
from service.money import Money, unrounded
from service.notes import Notes, listed
from service.science.acids import FORMS
from service.science.units import Quantity
from service.site import Price

DIGITS = 50
"""Working precision of sums of money."""


@dataclass(frozen=True)
class Shopping:
    """The list, and what it comes to; None without prices."""

    lines: tuple[EveningPurchase, ...]
    cost: Money | None
    outlay: Money | None


def shopping_of(asked: ServicePlanRequest, drinks: Sequence[Prepared], notes: Notes) -> Shopping:
    """Return what all drinks take, component by component, with the packages that are bought for them.

    Acid solutions are bought by their acids.

    raises: Refused, SeveralRefused for prices and stock that are of no component, or in several currencies
    """
    prices = {one.component: one for one in prices_of(asked)}
    held = {one.component: one.amount.quantity for one in asked.on_hand if one.component is not None and one.amount}
    taken = _taken(drinks, {*prices, *held})
    acids = _acids(drinks)
    _check_lists(asked)
    _caution_unpriced(prices, taken, notes)
    _caution_unused(held, [*taken, *acids], notes)
    with localcontext(prec=DIGITS):
        lines = [_line(one, prices.get(name), held.get(name)) for name, one in taken.items()]
        lines += [_acid_line(name, amount_g, held.get(name)) for name, amount_g in acids.items()]
        return Shopping(tuple(lines), _sum([one.cost for one in lines]), _sum([one.outlay for one in lines]))


def _taken(drinks: Sequence[Prepared], as_such: set[str]) -> Mapping[str, Supply]:
    """Return what the batches take by name, without water to dilute with and solutions that the bar makes itself."""
    wholes = [line.whole for one in drinks if one.to_mix is not None for line in one.to_mix.components]
    found = by_name(supplies(wholes, as_such))
    own = {name for name, one in found.items() if one.component.acid_solution is not None and name not in as_such}
    return {name: one for name, one in found.items() if name not in own and name != DILUTION_WATER}


def _acids(drinks: Sequence[Prepared]) -> Mapping[str, float]:
    """Return the acid products for the solutions, by what they are sold as [g]."""
    found: dict[str, float] = {}
    for one in drinks:
        for named in one.solutions:
            for line in named.solution.weigh:
                if line.form is not None:
                    name = Term(FORMS[line.form].said)
                    found[name] = found.get(name, 0.0) + line.mass_g
    return found


def _check_lists(asked: ServicePlanRequest) -> None:
    """Refuse a component that stands twice in a list, and prices in several currencies.

    raises: Refused ("impossible-batch"), SeveralRefused
    """
    refusals = Refusals()
    for at, stated in (("/prices", asked.prices), ("/on_hand", asked.on_hand)):
        for i in repeated([one.component for one in stated]):
            text = "This component stands in the list already."
            refusals.keep(Refused("impossible-batch", [Fault(f"{at}/{i}/component", "duplicate", text)]))
    for i, one in enumerate(asked.prices):
        first = asked.prices[0].price.currency
        if one.price.currency != first:
            text = "An evening is costed in one currency; the first price is in {first}."
            fault = Fault(f"/prices/{i}/price/currency", "two-currencies", text, (("first", first),))
            refusals.keep(Refused("impossible-batch", [fault]))
    refusals.raise_any()


def _caution_unused(held: Mapping[str, Quantity], names: Sequence[str], notes: Notes) -> None:
    idle = [name for name in held if name not in names]
    if idle:
        text = "No drink of the evening takes any of this: {components}."
        notes.caution("stock-unused", "info", text, at="/on_hand", components=listed(idle))


def _caution_unpriced(prices: Mapping[str, Price], taken: Mapping[str, Supply], notes: Notes) -> None:
    missing = [name for name in taken if name not in prices]
    if prices and missing:
        notes.caution("cost-incomplete", "info", "The cost leaves out what has no price: {components}.", at="/prices",
                      components=listed(missing))  # fmt: skip
    idle = [name for name in prices if name not in taken]
    if idle:
        notes.caution("price-unused", "info", "The batch takes none of what these prices are for: {components}.",
                      at="/prices", components=listed(idle))  # fmt: skip


def _line(supply: Supply, price: Price | None, held: Quantity | None) -> EveningPurchase:
    """Return a line in the kind of its packages, else of what is in the house, else as the spec writes it."""
    kind = price.content.quantity.kind if price is not None else held.kind if held is not None else supply.kind
    needed = supply.in_kind(kind)
    there = 0.0 if held is None else held.value * needed / supply.in_kind(held.kind)
    to_buy = max(0.0, needed - there)
    content = packages = left = cost = outlay = None
    if price is not None:
        content = price.content.quantity
        packages = ceil(to_buy / content.value * (1.0 - 1e-9))
        left = Quantity(kind, max(0.0, there + packages * content.value - needed))
        cost = unrounded(_decimal(needed) * price.price.amount / _decimal(content.value), price.price.currency)
        outlay = unrounded(packages * price.price.amount, price.price.currency)
    return EveningPurchase(
        supply.name, supply.component.stock_code, Quantity(kind, needed), held, Quantity(kind, to_buy), content,
        packages, left, cost, outlay,
    )  # fmt: skip


def _acid_line(name: str, mass_g: float, held: Quantity | None) -> EveningPurchase:
    there = held.value if held is not None and held.kind == "mass" else 0.0
    mass, to_buy = Quantity("mass", mass_g), Quantity("mass", max(0.0, mass_g - there))
    return EveningPurchase(name, None, mass, held, to_buy, None, None, None, None, None)


def _sum(money: Sequence[Money | None]) -> Money | None:
    stated = [one for one in money if one is not None]
    return unrounded(sum((one.amount for one in stated), Decimal(0)), stated[0].currency) if stated else None


def _decimal(value: float) -> Decimal:
    """Return a float by twelve digits, without the noise of binary fractions."""
    return Decimal(f"{value:.12g}")

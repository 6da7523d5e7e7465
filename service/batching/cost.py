"""The cost of a batch: amounts used, and packages bought. Decimal; floats of amounts enter with twelve digits."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from math import ceil
from typing import Annotated

from service.batching.measures import Line
from service.batching.stock import check_components
from service.batching.supplies import Supply, by_name, supplies
from service.declared import AMOUNT, Declared, Inline, text
from service.drink import DILUTION_WATER, Portion
from service.errors import Fault, Refusals, Refused
from service.money import Money, to_coins, unrounded
from service.notes import Notes, listed
from service.science.units import Quantity
from service.site import Price

_DIGITS = 50
"""Working precision: sums and products are exact, and a quotient is so to far below the last digit that is sent."""


@dataclass(frozen=True)
class Purchase:
    """The packages of one component that the batch opens."""

    component: str
    content: Annotated[Quantity, AMOUNT]
    packages: Declared[int]
    left_over: Annotated[Quantity, AMOUNT]
    outlay: Declared[Money]


@dataclass(frozen=True)
class Cost:
    """The cost of a batch. batch: unrounded to the twelfth decimal; per_serve: two decimals below the smallest coin.

    pour_cost_percent: of the selling price, both as stated, with or without tax; None where none is
    outlay: on whole packages
    """

    batch: Declared[Money]
    per_serve: Declared[Money]
    pour_cost_percent: Declared[Decimal | None]
    outlay: Money
    purchases: tuple[Purchase, ...]


@dataclass(frozen=True)
class ShoppingLine:
    """The purchase of one component for the batch, as it is started from, and the packages that hold it.

    amount: in the kind of its packages; else as the spec writes it, or by mass where it has a yield
    """

    component: Annotated[str, text(200)]
    stock_code: Annotated[str | None, text(64)]
    amount: Annotated[Quantity, AMOUNT]
    bought: Inline[Purchase | None]
    supply: Supply


def shopping_of(
    lines: Sequence[Line], prices: Sequence[Price], bought: Mapping[str, Purchase]
) -> tuple[ShoppingLine, ...]:
    """Return the lines of shopping; water to dilute with only where it has a price.

    A component that is made from a spec and has no price is bought by the components of that spec.

    bought: by component
    """
    priced = {price.component for price in prices}
    taken = by_name(supplies((line.whole for line in lines), priced))
    wanted = [one for one in taken.values() if one.name != DILUTION_WATER or one.name in priced]
    return tuple([_shopping_line(one, bought.get(one.name)) for one in wanted])


def _shopping_line(supply: Supply, bought: Purchase | None) -> ShoppingLine:
    kind = supply.kind if bought is None else bought.content.kind
    amount = Quantity(kind, supply.in_kind(kind))
    return ShoppingLine(supply.name, supply.component.stock_code, amount, bought, supply)


def with_purchase(line: Line, bought: Purchase | None) -> Line:
    """Return a line of the batch with the packages that are bought for it."""
    return line if bought is None else replace(line, packages=bought.packages, left_over=bought.left_over)


def check_prices(prices: Sequence[Price], selling_price: Money | None, names: Sequence[str]) -> None:
    """Refuse a price of no component, a second one of a component, and prices in several currencies.

    raises: Refused ("impossible-batch"), SeveralRefused
    """
    refusals = Refusals()
    with refusals.gather():
        check_components([price.component for price in prices], names, "/prices", "price")
    stated = [(f"/prices/{i}/price/currency", price.price.currency) for i, price in enumerate(prices)]
    if selling_price is not None:
        stated.append(("/selling_price/currency", selling_price.currency))
    for at, currency in stated[1:]:
        with refusals.gather():
            if currency != stated[0][1]:
                text = "State it in {currency}, as the first price is: one batch is costed in one currency."
                first = (("currency", stated[0][1]),)
                raise Refused("impossible-batch", [Fault(at, "two-currencies", text, first)])
    refusals.raise_any()


def cost_of(
    lines: Sequence[Line], prices: Sequence[Price], selling_price: Money | None, serves: int, notes: Notes
) -> Cost:
    """Return the cost of what the batch uses, and of the packages that are bought for it.

    cost = sum amount/content price, outlay = sum ceil(amount/content) price; per serve to the currency's minor unit and
    two decimals more, half to even; pour cost = 100 cost/serves/selling price
    """
    wholes = [line.whole for line in lines]
    caution_unpriced(wholes, prices, notes)
    currency = prices[0].price.currency
    with localcontext(prec=_DIGITS):
        bought = _priced(wholes, prices)
        _caution_unused(prices, bought, notes)
        purchases = tuple(_purchase(price, supply) for price, supply in bought)
        batch = sum((_used(price, supply) for price, supply in bought), Decimal(0))
        outlay = sum((p.outlay.amount for p in purchases), Decimal(0))
        a_serve = batch / serves
        pour_cost = 100 * a_serve / selling_price.amount if selling_price is not None else None
        per_serve = Money(to_coins(a_serve, currency, further=2), currency)
        return Cost(unrounded(batch, currency), per_serve, pour_cost, unrounded(outlay, currency), purchases)


def cost_of_glass(glass: Sequence[Portion], priced: Mapping[str, Price], currency: str) -> Money:
    """Return the cost of one glass by the components that have a price, losses aside; to the digits of a serve's.

    priced: the price of each component that has one
    """
    with localcontext(prec=_DIGITS):
        taken = [supply for supply in supplies(glass, priced) if supply.name in priced]
        used = sum([_used(priced[supply.name], supply) for supply in taken], Decimal(0))
        return Money(to_coins(used, currency, further=2), currency)


def cost_of_supply(supply: Supply, price: Price) -> Money:
    """Return the cost of a supply, negative of one that is; to the digits of a serve's."""
    with localcontext(prec=_DIGITS):
        currency = price.price.currency
        return Money(to_coins(_used(price, supply), currency, further=2) + 0, currency)


def _priced(parts: Sequence[Portion], prices: Sequence[Price]) -> list[tuple[Price, Supply]]:
    """Return each price that the parts have a use for, with all they take of its component."""
    taken = by_name(supplies(parts, {price.component for price in prices}))
    return [(price, taken[price.component]) for price in prices if price.component in taken]


def _caution_unused(prices: Sequence[Price], bought: Sequence[tuple[Price, Supply]], notes: Notes) -> None:
    used = {price.component for price, _ in bought}
    idle = [price.component for price in prices if price.component not in used]
    if idle:
        notes.caution("price-unused", "info", "Leave these prices out: the batch takes none of {components}.",
                      at="/prices", components=listed(idle))  # fmt: skip


def _used(price: Price, supply: Supply) -> Decimal:
    content = price.content.quantity
    return _decimal(supply.in_kind(content.kind)) * price.price.amount / _decimal(content.value)


def _purchase(price: Price, supply: Supply) -> Purchase:
    content = price.content.quantity
    amount = supply.in_kind(content.kind)
    packages = max(1, ceil(amount / content.value * (1.0 - 1e-9)))
    left_over = Quantity(content.kind, max(0.0, packages * content.value - amount))
    outlay = unrounded(packages * price.price.amount, price.price.currency)
    return Purchase(supply.name, content, packages, left_over, outlay)


def _decimal(value: float) -> Decimal:
    """Return a float by twelve digits, without the noise of binary fractions; far below any measurement."""
    return Decimal(f"{value:.12g}")


def caution_unpriced(
    parts: Sequence[Portion], prices: Sequence[Price], notes: Notes, *, code: str = "cost-incomplete"
) -> None:
    """Note the components that a cost leaves out; water to dilute with is not missed."""
    priced = {price.component for price in prices}
    missing = [name for name in by_name(supplies(parts, priced)) if name not in {*priced, DILUTION_WATER}]
    if missing:
        notes.caution(code, "info", _UNPRICED[code], at="/prices", components=listed(missing))


_UNPRICED = {
    "cost-incomplete": "Price these too: the cost leaves out {components}.",
    "standard-cost-incomplete": "Price these too: the cost of the standard leaves out {components}.",
}

"""What is used and what is bought, in money. Decimal throughout; floats of amounts enter with twelve digits."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from difflib import get_close_matches
from math import ceil

from service.batching.measures import Line, in_kind, listed
from service.drink import Amount
from service.errors import Fault, Nearest, Refusals, Refused
from service.notes import Notes
from service.science.units import Quantity

_MINOR_DIGITS = {
    "BIF": 0, "CLP": 0, "DJF": 0, "GNF": 0, "ISK": 0, "JPY": 0, "KMF": 0, "KRW": 0, "PYG": 0, "RWF": 0, "UGX": 0,
    "UYI": 0, "VND": 0, "VUV": 0, "XAF": 0, "XOF": 0, "XPF": 0,
    "BHD": 3, "IQD": 3, "JOD": 3, "KWD": 3, "LYD": 3, "OMR": 3, "TND": 3,
    "CLF": 4, "UYW": 4,
}  # fmt: skip
"""Decimals of a currency where they are not two; ISO 4217:2015, list one, column minor unit."""
_DIGITS = 50
"""Working precision: sums and products are exact, and a quotient is so to far below the last digit that is sent."""


@dataclass(frozen=True)
class Price:
    """What a package of a component costs."""

    component: str
    content: Amount
    amount: Decimal
    currency: str


@dataclass(frozen=True)
class Purchase:
    """The packages of one component that the batch opens."""

    component: str
    content: Quantity
    packages: int
    left_over: Quantity
    price: Decimal
    outlay: Decimal


@dataclass(frozen=True)
class Cost:
    """batch: what is used, unrounded; outlay: whole packages."""

    currency: str
    batch: Decimal
    per_serve: Decimal
    outlay: Decimal
    purchases: tuple[Purchase, ...]


def minor_digits(currency: str) -> int:
    """Decimals of a currency's smallest unit, by its ISO 4217 code."""
    return _MINOR_DIGITS.get(currency, 2)


def check_prices(prices: Sequence[Price], names: Sequence[str]) -> None:
    """Each price is of a component, each component has one at most, all are in one currency.

    raises: Refused ("impossible-batch"), SeveralRefused
    """
    refusals = Refusals()
    for i, price in enumerate(prices):
        with refusals.gather():
            _check_component(price.component, names, [p.component for p in prices], f"/prices/{i}/component")
        with refusals.gather():
            if price.component in [p.component for p in prices[:i]]:
                raise Refused(
                    "impossible-batch",
                    [Fault(f"/prices/{i}/component", "duplicate", "This component is priced twice.")],
                )
        with refusals.gather():
            if price.currency != prices[0].currency:
                text = f"One batch is costed in one currency; the first price is in {prices[0].currency}."
                raise Refused("impossible-batch", [Fault(f"/prices/{i}/price/currency", "two-currencies", text)])
    refusals.raise_any()


def _check_component(name: str, names: Sequence[str], priced: Sequence[str], at: str) -> None:
    if name not in names:
        like = get_close_matches(name, [n for n in names if n not in priced], n=1)
        raise Refused("impossible-batch", [Fault(at, "unknown-component", "The spec has no component of this name.")],
                      nearest=[Nearest(at, like[0])] if like else [])  # fmt: skip


def cost_of(lines: Sequence[Line], prices: Sequence[Price], serves: int, notes: Notes) -> Cost:
    """What the batch uses and what is bought for it.

    cost = sum amount/content price, outlay = sum ceil(amount/content) price; per serve to the currency's minor unit and
    two decimals more, half to even
    """
    by_name = {line.name: line for line in lines}
    _caution_unpriced(lines, prices, notes)
    currency = prices[0].currency
    with localcontext(prec=_DIGITS):
        bought = [(price, by_name[price.component]) for price in prices if price.component in by_name]
        purchases = tuple(_purchase(price, line) for price, line in bought)
        batch = sum((_used(price, line) for price, line in bought), Decimal(0))
        outlay = sum((p.outlay for p in purchases), Decimal(0))
        cent = Decimal(1).scaleb(-minor_digits(currency) - 2)
        return Cost(currency, batch, (batch / serves).quantize(cent, ROUND_HALF_EVEN), outlay, purchases)


def _used(price: Price, line: Line) -> Decimal:
    content = price.content.quantity
    return _decimal(in_kind(line.whole, content.kind)) * price.amount / _decimal(content.value)


def _purchase(price: Price, line: Line) -> Purchase:
    content = price.content.quantity
    amount = in_kind(line.whole, content.kind)
    packages = max(1, ceil(amount / content.value * (1.0 - 1e-9)))
    left_over = Quantity(content.kind, max(0.0, packages * content.value - amount))
    return Purchase(line.name, content, packages, left_over, price.amount, packages * price.amount)


def _decimal(value: float) -> Decimal:
    """Twelve digits: drops the noise of binary fractions, far below any measurement."""
    return Decimal(f"{value:.12g}")


def _caution_unpriced(lines: Sequence[Line], prices: Sequence[Price], notes: Notes) -> None:
    priced = {price.component for price in prices}
    missing = [line.name for line in lines if line.name not in priced]
    if missing:
        notes.caution("cost-incomplete", "info", "The cost leaves out what has no price: {components}.", at="/prices",
                      components=listed(missing))  # fmt: skip

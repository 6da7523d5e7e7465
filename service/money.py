"""Money: a decimal number of a currency."""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Self

_MINOR_DIGITS = {
    "BIF": 0, "CLP": 0, "DJF": 0, "GNF": 0, "ISK": 0, "JPY": 0, "KMF": 0, "KRW": 0, "PYG": 0, "RWF": 0, "UGX": 0,
    "UYI": 0, "VND": 0, "VUV": 0, "XAF": 0, "XOF": 0, "XPF": 0,
    "BHD": 3, "IQD": 3, "JOD": 3, "KWD": 3, "LYD": 3, "OMR": 3, "TND": 3,
    "CLF": 4, "UYW": 4,
}  # fmt: skip
"""Decimals of a currency where they are not two; ISO 4217:2015, list one, column minor unit."""


@dataclass(frozen=True)
class Money:
    """So much of a currency."""

    amount: Decimal
    currency: str


class Sum(str):
    """An amount of money inside a sentence, every decimal as it is, written as the place writes numbers."""

    money: Money

    def __new__(cls, money: Money) -> Self:
        new = super().__new__(cls, f"{money.amount:f} {money.currency}")
        new.money = money
        return new

    @property
    def decimals(self) -> int:
        """Return how many decimals the amount has."""
        return -min(int(self.money.amount.as_tuple().exponent), 0)


def unrounded(amount: Decimal, currency: str) -> Money:
    """Return an amount with every decimal there is, up to twelve, and at least those of the smallest coin."""
    whole_part, decimals = f"{amount:.12f}".split(".")
    decimals = decimals.rstrip("0").ljust(minor_digits(currency), "0")
    return Money(Decimal(f"{whole_part}.{decimals}"), currency)


def to_coins(amount: Decimal, currency: str, *, further: int = 0) -> Decimal:
    """Return an amount to the smallest coin of a currency, or to so many decimals further; half to even."""
    return amount.quantize(Decimal(1).scaleb(-minor_digits(currency) - further), ROUND_HALF_EVEN)


def minor_digits(currency: str) -> int:
    """Return the decimals of a currency's smallest unit, by its ISO 4217 code."""
    return _MINOR_DIGITS.get(currency, 2)

"""Money in an answer."""

from decimal import Decimal

from service.api.endpoint import Body
from service.money import minor_digits


def write_money(amount: Decimal, currency: str) -> Body:
    """Every decimal there is, up to twelve; at least those of the smallest coin."""
    shown = f"{amount:.12f}"
    whole_part, decimals = shown.split(".")
    decimals = decimals.rstrip("0").ljust(minor_digits(currency), "0")
    return {"amount": f"{whole_part}.{decimals}".rstrip("."), "currency": currency}

"""Money: the smallest coin of a currency, and amounts with every decimal there is."""

import csv
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from babel.core import get_global
from babel.numbers import get_currency_precision, get_territory_currencies, list_currencies
from hypothesis import given
from hypothesis import strategies as st

from service.money import Money, minor_digits, unrounded
from tests.published import DATA

TODAY = date(2026, 1, 1)


def current() -> set[str]:
    """Codes in force by Unicode CLDR, with those that are no coin anywhere."""
    territories = get_global("territory_currencies")
    return {code for one in territories for code in get_territory_currencies(one, start_date=TODAY, non_tender=True)}


def digits_by_the_jdk() -> dict[str, int]:
    with (DATA / "currency_digits.csv").open(encoding="utf-8") as file:
        table = csv.DictReader(line for line in file if not line.startswith("#"))
        return {row["code"]: int(row["digits"]) for row in table}


@pytest.mark.parametrize(
    "currency, digits", [("EUR", 2), ("USD", 2), ("JPY", 0), ("ISK", 0), ("KWD", 3), ("BHD", 3), ("CLF", 4)]
)
def test_minor_units_of_iso_4217(currency: str, digits: int) -> None:
    """ISO 4217 list one as published 2017-01-01 (stored copy of its table A.1); JPY, ISK and KWD from memory."""
    assert minor_digits(currency) == digits


def test_minor_units_of_every_currency_in_force_are_those_of_iso_4217() -> None:
    """ISO 4217 as OpenJDK follows it, tests/data/currency_digits.csv; in force are those that Unicode CLDR says are."""
    by_the_jdk = digits_by_the_jdk()
    known = current() & by_the_jdk.keys()
    assert len(known) > 150
    assert {code: minor_digits(code) for code in known} == {code: by_the_jdk[code] for code in known}


def test_a_unit_of_account_that_the_jdk_lacks_has_the_digits_of_unicode() -> None:
    """The Unidad Previsional of Uruguay, by Unicode CLDR as babel has it."""
    assert "UYW" not in digits_by_the_jdk()
    assert minor_digits("UYW") == get_currency_precision("UYW") == 4


def test_minor_units_are_those_of_unicode_but_where_coins_went_out_of_use() -> None:
    """Babel has the decimals in use by Unicode CLDR. ISO 4217 keeps minor units that are coined no more; those of the
    codes named here are 2, and 3 for the dinar of Iraq (OpenJDK, as above). Codes withdrawn from ISO 4217 are left
    out."""
    out_of_use = {"AFN", "ALL", "IQD", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SOS", "SYP", "YER"}
    withdrawn = {"ADP", "BYR", "ESP", "ITL", "LUF", "MGF", "MRO", "SLL", "STD", "TMM", "TRL", "VEF", "ZMK", "ZWD"}
    kept = list_currencies() - withdrawn
    assert {code for code in kept if minor_digits(code) != get_currency_precision(code)} == out_of_use


@pytest.mark.parametrize("exact, currency, written", [
    ("1.5", "EUR", "1.50"), ("10", "EUR", "10.00"), ("10", "JPY", "10"), ("1.5", "KWD", "1.500"),
    ("0", "CLF", "0.0000"), ("0.123456789012", "EUR", "0.123456789012"),
    ("0.1234567890124", "EUR", "0.123456789012"),
    ("0.100000000000", "JPY", "0.1"), ("99999999999999999.01", "EUR", "99999999999999999.01"), ("2E+3", "JPY", "2000"),
])  # fmt: skip
def test_an_amount_has_the_decimals_it_needs_and_at_least_those_of_the_coin(
    exact: str, currency: str, written: str
) -> None:
    """Written out by hand."""
    found = unrounded(Decimal(exact), currency)
    assert (f"{found.amount:f}", found.currency) == (written, currency)


@given(
    amount=st.fractions(0, 10**9, max_denominator=10**6), currency=st.sampled_from(["EUR", "JPY", "KWD", "CLF", "UYW"])
)
def test_no_amount_moves_by_more_than_half_its_twelfth_decimal(amount: Fraction, currency: str) -> None:
    """Exact arithmetic of Python's fractions; nothing is rounded before the twelfth decimal."""
    found = unrounded(Decimal(amount.numerator) / Decimal(amount.denominator), currency).amount
    assert abs(Fraction(found) - amount) <= Fraction(1, 2 * 10**12)
    decimals = -int(found.as_tuple().exponent)
    assert minor_digits(currency) <= decimals <= 12
    assert decimals == minor_digits(currency) or found.as_tuple().digits[-1] != 0


def test_money_of_two_currencies_is_never_the_same() -> None:
    assert Money(Decimal(1), "EUR") != Money(Decimal(1), "USD")
    assert Money(Decimal("1.0"), "EUR") == Money(Decimal("1.00"), "EUR")  # equal, as decimal numbers are

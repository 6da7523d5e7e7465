"""Fields of requests that have a unit: a value and a unit on the wire, a float in its base unit in the core."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, fields

from service.api.quantities.answered import ACIDITY_UNITS, ACIDS, BASE_UNITS, COMPONENTS, PRICE
from service.api.quantities.plain import REQUIRED, Bounded, Coded, UnknownField, fault, finite, out_of_range, shown
from service.drink import Amount, Sugar
from service.errors import Names
from service.limits.requests import LARGEST
from service.money import Money
from service.science import acids, mixture, units
from service.science.units import Quantity, to_base

_POSITIVE = {"volume", "mass", "amount", "duration"}


class QuantityField(Bounded):
    """A quantity of one kind; loads to a float in the kind's base unit (subclasses load to more)."""

    def __init__(self, kind: str, **kwargs: Any) -> None:
        super().__init__(**{"above" if kind in _POSITIVE else "low": 0.0 if kind in _POSITIVE else -LARGEST, **kwargs})
        self.kind = kind
        self.component, self.units = COMPONENTS[kind]

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        number, unit = read(value, self.units)
        return self.convert(number, unit)

    def convert(self, number: float, unit: str) -> Any:
        return self._checked(to_base(self.kind, number, unit))

    def _checked(self, base: float) -> float:
        try:
            return self.check(base, BASE_UNITS[self.kind])
        except ValidationError as error:
            raise ValidationError({"value": error.messages}) from None

    def openapi(self) -> dict[str, Any]:
        """Return the schema of the field; its component is shared, so its own bounds stand beside it, in words."""
        described = f"{self.metadata.get('description', '')} {self.bounds_in_words()}".strip()
        return {"$ref": f"#/components/schemas/{self.component}", "description": described}

    def bounds_in_words(self) -> str:
        return self.range_in(BASE_UNITS[self.kind])


def read(value: Any, allowed: tuple[str, ...], more: tuple[str, ...] = ()) -> tuple[float, str]:
    """Read number and unit of a quantity object, with every fault in it at once.

    more: further properties that the caller reads itself
    """
    if not isinstance(value, dict):
        text = 'Must be an object such as {{"value": 1.5, "unit": "{unit}"}}.'
        raise fault("not-a-quantity", text, unit=allowed[0])
    wrong: dict[str, Any] = {} if value.keys() == _NAMES else _misnamed(value, ("unit", "value"), more)
    number, unit = 0.0, value.get("unit", allowed[0])
    try:
        number = finite(value.get("value", number))
    except ValidationError as error:
        wrong["value"] = error.messages
    if unit not in allowed:
        wrong["unit"] = [Coded("unit", "Must be one of: {units}.", units=Names(allowed))]
    if wrong:
        raise ValidationError(wrong)
    return number, unit


_NAMES = {"value", "unit"}


def _misnamed(value: Mapping[str, Any], needed: tuple[str, ...], more: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return the faults of fields that do not belong in an object, and of those that are missing."""
    known = (*needed, *more)
    unknown = {name: [UnknownField(known)] for name in value if name not in known}
    return unknown | {name: [REQUIRED] for name in needed if name not in value}


class AmountField(QuantityField):
    """A volume or a mass; loads to `Amount`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__("amount", **kwargs)

    def convert(self, number: float, unit: str) -> Amount:
        kind: units.Kind = "volume" if unit in units.FACTORS["volume"] else "mass"
        return Amount(Quantity(kind, self._checked(to_base(kind, number, unit))), unit)


class SugarField(QuantityField):
    """Sugar in g/l (0 to 1200) or degrees Brix (0 to MOST_BRIX); loads to `Sugar`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__("sugar", low=0.0, high=1200.0, **kwargs)

    def convert(self, number: float, unit: str) -> Sugar:
        if unit != "brix":
            return Sugar(self._checked(to_base("sugar", number, unit)), "g/l")
        if not 0.0 <= number <= mixture.MOST_BRIX:
            raise ValidationError({"value": out_of_range(0.0, mixture.MOST_BRIX, "brix").messages})
        return Sugar(number, "brix")

    def bounds_in_words(self) -> str:
        return f"From 0 to {shown(self.high)} g/l or {shown(mixture.MOST_BRIX)} brix."


class AcidityField(QuantityField):
    """Titratable acidity in meq/l, or in g/l expressed as an acid; loads to meq/l."""

    component = "Acidity"

    def __init__(self, **kwargs: Any) -> None:
        Bounded.__init__(self, **{"low": 0.0, "high": 20000.0, **kwargs})
        self.kind, self.units = "acidity", ACIDITY_UNITS

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        number, unit = read(value, self.units, more=("expressed_as",))
        acid = value.get("expressed_as")
        if unit in units.FACTORS["acidity"]:
            if acid is not None:
                text = "Milliequivalents are not expressed as an acid; leave this out."
                raise ValidationError({"expressed_as": [Coded("not-needed", text)]})
            return self._checked(to_base("acidity", number, unit))
        if acid not in ACIDS:
            text = "Must be one of: {choices}."
            raise ValidationError({"expressed_as": [Coded("not-a-choice", text, choices=Names(ACIDS))]})
        return self._checked(acids.meq_per_l_of(number, acid))


class MoneyField(fields.Field[Money]):
    """{"amount": "21.50", "currency": "EUR"}; loads to `Money`."""

    def __init__(self, *, free: bool = True, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.free = free

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Money:
        if not isinstance(value, Mapping):
            raise fault("not-money", 'Must be an object such as {{"amount": "21.50", "currency": "EUR"}}.')
        wrong = _misnamed(value, ("amount", "currency"))
        amount, currency = value.get("amount", "1"), value.get("currency", "EUR")
        if not (isinstance(currency, str) and len(currency) == 3 and currency.isascii() and currency.isupper()):
            wrong["currency"] = [Coded("currency", "Must be a three-letter ISO 4217 code.")]
        if not (isinstance(amount, str) and re.fullmatch(PRICE, amount)):
            text = 'Must be a string such as "21.50": one to eight digits, and up to six decimals after a point.'
            wrong["amount"] = [Coded("amount", text)]
        elif not (self.free or Decimal(amount)):
            wrong["amount"] = [Coded("out-of-range", "Must be over 0.")]
        if wrong:
            raise ValidationError(wrong)
        return Money(Decimal(amount), currency)

    def openapi(self) -> dict[str, Any]:
        bound = {} if self.free else {"description": "Over 0."}
        return {"$ref": "#/components/schemas/PackagePrice", **bound}

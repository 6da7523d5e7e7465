"""Marshmallow fields of the wire: numbers that are numbers, quantities with units, and what OpenAPI says of them.

A quantity is {"value": 1.5, "unit": "oz"} on the wire and a float in its base unit in the core; the conversion lives
here.
"""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from math import isfinite
from typing import Any, Self

from marshmallow import ValidationError, fields

from service.drink import Amount, Sugar
from service.science import acids, units
from service.science.units import Quantity, to_base

LARGEST = 1e7
"""No bar states a number beyond this; it keeps every computation finite."""


class Coded(str):
    """A message with a code, which marshmallow carries through untouched."""

    code: str

    def __new__(cls, code: str, text: str) -> Self:
        new = super().__new__(cls, text)
        new.code = code
        return new

    def format(self, *args: object, **kwargs: object) -> "Coded":
        return Coded(self.code, super().format(*args, **kwargs))


def fault(code: str, text: str) -> ValidationError:
    """A validation error with one coded message."""
    return ValidationError([Coded(code, text)])


fields.Field.default_error_messages.update(
    required=Coded("required", "This field is required."),
    null=Coded("null", "null is not accepted; leave the field out."),
    validator_failed=Coded("invalid", "Invalid value."),
)
fields.Boolean.default_error_messages["invalid"] = Coded("not-a-boolean", "Must be true or false.")
fields.String.default_error_messages["invalid"] = Coded("not-a-string", "Must be a string.")
fields.List.default_error_messages["invalid"] = Coded("not-a-list", "Must be a list.")
fields.Nested.default_error_messages["type"] = Coded("not-an-object", "Must be an object.")


def finite(value: object) -> float:
    """The value as a float; booleans, strings, NaN and infinities are refused."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise fault("not-a-number", "Must be a number.")
    number = float(value) if abs(value) <= 1e300 else float("inf")
    if not isfinite(number):
        raise fault("not-finite", "Must be a finite number.")
    return number


class Bounded(fields.Field[Any]):
    """Base of fields with a lower and an upper bound in the base unit.

    above: exclusive lower bound, instead of low
    """

    def __init__(
        self, *, low: float = -LARGEST, high: float = LARGEST, above: float | None = None, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.low, self.high, self.above = low, high, above

    def check(self, value: float, unit: str = "") -> float:
        lowest = self.above if self.above is not None else self.low
        inside = (value > lowest if self.above is not None else value >= lowest) and value <= self.high
        if not inside:
            sign = "over" if self.above is not None else "at least"
            raise fault("out-of-range", f"Must be {sign} {lowest:g} and at most {self.high:g}{unit and ' ' + unit}.")
        return value

    def bounds(self) -> dict[str, Any]:
        lowest = {"minimum": self.low} if self.above is None else {"exclusiveMinimum": self.above}
        return {**lowest, "maximum": self.high}


class Number(Bounded):
    """A JSON number with bounds."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        return self.check(finite(value))

    def openapi(self) -> dict[str, Any]:
        return {"type": "number", **self.bounds()}


class Whole(Bounded):
    """A JSON integer with bounds; 2.0 is one, 1.9 is not."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> int:
        number = finite(value)
        if number != int(number):
            raise fault("not-an-integer", "Must be a whole number.")
        return int(self.check(number))

    def openapi(self) -> dict[str, Any]:
        return {"type": "integer", "format": "int32", "minimum": int(self.low), "maximum": int(self.high)}


class Flag(fields.Field[bool]):
    """JSON true or false and nothing like them."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise fault("not-a-boolean", "Must be true or false.")
        return value

    def openapi(self) -> dict[str, Any]:
        return {"type": "boolean"}


class Text(fields.String):
    """A string of bounded length without control characters."""

    def __init__(self, *, longest: int = 200, shortest: int = 1, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.longest, self.shortest = longest, shortest

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise fault("not-a-string", "Must be a string.")
        if not self.shortest <= len(value) <= self.longest:
            raise fault("length", f"Must be {self.shortest} to {self.longest} characters long.")
        if any(ord(c) < 32 or ord(c) == 127 for c in value):
            raise fault("control-character", "Must not contain control characters.")
        return value

    def openapi(self) -> dict[str, Any]:
        return {"type": "string", "minLength": self.shortest, "maxLength": self.longest}


class Choice(fields.Field[str]):
    """One of a closed list of words."""

    def __init__(self, *words: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.words = words

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str) or value not in self.words:
            raise fault("not-a-choice", f"Must be one of: {', '.join(self.words)}.")
        return value

    def openapi(self) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.words)}


COMPONENTS: dict[str, tuple[str, tuple[str, ...]]] = {
    "volume": ("Volume", tuple(units.FACTORS["volume"])),
    "mass": ("Mass", tuple(units.FACTORS["mass"])),
    "amount": ("VolumeOrMass", (*units.FACTORS["volume"], *units.FACTORS["mass"])),
    "pressure": ("Pressure", tuple(units.FACTORS["pressure"])),
    "temperature": ("Temperature", ("c", "f")),
    "duration": ("Duration", tuple(units.FACTORS["duration"])),
    "co2": ("Co2", tuple(units.FACTORS["co2"])),
    "sugar": ("Sugar", ("g/l", "brix")),
    "length": ("Length", tuple(units.FACTORS["length"])),
    "salt": ("Salt", ("g/l",)),
}
"""Kind -> OpenAPI component and its units."""


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
        base = to_base(self.kind, number, unit)
        return self._checked(base, units.ANSWER_UNITS["metric"][self.kind])

    def _checked(self, base: float, unit: str) -> float:
        try:
            return self.check(base, unit)
        except ValidationError as error:
            raise ValidationError({"value": error.messages}) from None

    def openapi(self) -> dict[str, Any]:
        return {"$ref": f"#/components/schemas/{self.component}"}


_POSITIVE = {"volume", "mass", "amount", "duration", "density"}


def read(value: Any, allowed: tuple[str, ...], more: tuple[str, ...] = ()) -> tuple[float, str]:
    """Number and unit of a quantity object, every fault in it at once.

    more: further properties that the caller reads itself
    """
    if not isinstance(value, Mapping):
        raise fault("not-a-quantity", 'Must be an object such as {"value": 1.5, "unit": "' + allowed[0] + '"}.')
    wrong: dict[str, Any] = {
        name: [Coded("unknown-field", "Unknown field.")] for name in value if name not in ("value", "unit", *more)
    }
    for name in ("value", "unit"):
        if name not in value:
            wrong[name] = [Coded("required", "This field is required.")]
    number = 0.0
    if "value" in value:
        try:
            number = finite(value["value"])
        except ValidationError as error:
            wrong["value"] = error.messages
    if "unit" in value and (not isinstance(value["unit"], str) or value["unit"] not in allowed):
        wrong["unit"] = [Coded("unit", f"Must be one of: {', '.join(allowed)}.")]
    if wrong:
        raise ValidationError(wrong)
    return number, value["unit"]


class AmountField(QuantityField):
    """A volume or a mass; loads to `Amount`, or to a `Quantity` when `plain`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__("amount", **kwargs)

    def convert(self, number: float, unit: str) -> Amount:
        kind: units.Kind = "volume" if unit in units.FACTORS["volume"] else "mass"
        return Amount(Quantity(kind, self._checked(to_base(kind, number, unit), "ml or g")), unit)


class SugarField(QuantityField):
    """Sugar in g/l (0 to 1200) or degrees Brix (0 to 85); loads to `Sugar`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__("sugar", low=0.0, high=1200.0, **kwargs)

    def convert(self, number: float, unit: str) -> Sugar:
        if unit == "brix" and not 0.0 <= number <= 85.0:
            raise ValidationError({"value": [Coded("out-of-range", "Must be at least 0 and at most 85 brix.")]})
        return Sugar(self._checked(number, "g/l"), "brix" if unit == "brix" else "g/l")


class AcidityField(QuantityField):
    """Titratable acidity in meq/l, or in g/l expressed as an acid; loads to meq/l."""

    component = "Acidity"

    def __init__(self, **kwargs: Any) -> None:
        Bounded.__init__(self, **{"low": 0.0, "high": 20000.0, **kwargs})
        self.kind, self.units = "acidity", ("g/l", "meq/l")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        number, unit = read(value, self.units, more=("expressed_as",))
        acid = value.get("expressed_as")
        if unit == "meq/l":
            if acid is not None:
                text = "Milliequivalents are not expressed as an acid; leave this out."
                raise ValidationError({"expressed_as": [Coded("not-needed", text)]})
            return self._checked(number, "meq/l")
        if acid not in ("citric", "tartaric"):
            raise ValidationError({"expressed_as": [Coded("not-a-choice", "Must be one of: citric, tartaric.")]})
        return self._checked(acids.meq_per_l_of(number, acid), "meq/l")


class MoneyField(fields.Field[Any]):
    """{"amount": "21.50", "currency": "EUR"}; loads to (Decimal, currency)."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> tuple[Decimal, str]:
        if not isinstance(value, Mapping) or set(value) != {"amount", "currency"}:
            raise fault("not-money", 'Must be an object such as {"amount": "21.50", "currency": "EUR"}.')
        amount, currency = value["amount"], value["currency"]
        wrong: dict[str, Any] = {}
        if not (isinstance(currency, str) and len(currency) == 3 and currency.isascii() and currency.isupper()):
            wrong["currency"] = [Coded("currency", "Must be a three-letter ISO 4217 code.")]
        if not (isinstance(amount, str) and len(amount) <= 16 and _is_plain_decimal(amount)):
            wrong["amount"] = [
                Coded("amount", 'Must be a decimal number as a string, such as "21.50", up to 10000000.')
            ]
        if wrong:
            raise ValidationError(wrong)
        return Decimal(amount), currency

    def openapi(self) -> dict[str, Any]:
        return {"$ref": "#/components/schemas/Money"}


def _is_plain_decimal(text: str) -> bool:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return False
    return number.is_finite() and 0 <= number <= LARGEST and set(text) <= set("0123456789.")


class Answered(fields.Field[Any]):
    """A field of an answer; only its OpenAPI form matters, answers are built as plain dictionaries."""

    def __init__(self, schema: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(**{"required": True, **kwargs})
        self.schema = schema

    def openapi(self) -> dict[str, Any]:
        return self.schema


def q(kind: str, **kwargs: Any) -> Answered:
    """A quantity in an answer."""
    name = "Acidity" if kind == "acidity" else COMPONENTS[kind][0]
    return Answered({"$ref": f"#/components/schemas/{name}"}, **kwargs)


BANDS = {kind: f"{COMPONENTS[kind][0]}Band" for kind in ("mass", "pressure", "temperature", "duration", "co2")}


def band(kind: str, **kwargs: Any) -> Answered:
    """Low, typical and high of a quantity in an answer; kind "number" has no unit."""
    name = "NumberRange" if kind == "number" else BANDS[kind]
    return Answered({"$ref": f"#/components/schemas/{name}"}, **kwargs)


def number(**kwargs: Any) -> Answered:
    """A plain number in an answer."""
    return Answered({"type": "number", "minimum": -1e12, "maximum": 1e12}, **kwargs)


def whole(**kwargs: Any) -> Answered:
    """A whole number in an answer."""
    return Answered({"type": "integer", "format": "int32", "minimum": 0, "maximum": 100_000_000}, **kwargs)


def text(longest: int = 2000, **kwargs: Any) -> Answered:
    """A string in an answer."""
    return Answered({"type": "string", "maxLength": longest}, **kwargs)


def texts(longest: int = 2000, most: int = 1000, **kwargs: Any) -> Answered:
    """A list of strings in an answer."""
    return Answered({"type": "array", "maxItems": most, "items": {"type": "string", "maxLength": longest}}, **kwargs)


def flag(**kwargs: Any) -> Answered:
    """true or false in an answer."""
    return Answered({"type": "boolean"}, **kwargs)


def money(**kwargs: Any) -> Answered:
    """An amount of money in an answer."""
    return Answered({"$ref": "#/components/schemas/Money"}, **kwargs)


def quantity_components() -> dict[str, dict[str, Any]]:
    """OpenAPI components of quantities, bands and money."""
    value = {"type": "number", "minimum": -1e12, "maximum": 1e12}
    found: dict[str, dict[str, Any]] = {}
    for kind, (name, allowed) in COMPONENTS.items():
        unit = {"type": "string", "enum": list(allowed)}
        found[name] = _closed(f"A {kind} with its unit.", value=value, unit=unit)
        if kind in BANDS:
            found[BANDS[kind]] = _closed(
                f"An estimated {kind}: about nine times in ten the truth lies between low and high.",
                low=value,
                typical=value,
                high=value,
                unit=unit,
            )
    found["NumberRange"] = _closed(
        "An estimated number: about nine times in ten the truth lies between low and high.",
        low=value,
        typical=value,
        high=value,
    )
    acidity = _closed(
        "Titratable acidity; in g/l it is expressed as an acid.",
        value=value,
        unit={"type": "string", "enum": ["g/l", "meq/l"]},
        expressed_as={"type": "string", "enum": ["citric", "tartaric"]},
    )
    acidity["required"] = ["value", "unit"]
    found["Acidity"] = acidity
    found["Money"] = _closed(
        "Money: a decimal number as a string, and an ISO 4217 code.",
        amount={"type": "string", "pattern": r"^-?[0-9]{1,15}(\.[0-9]{1,12})?$", "maxLength": 32},
        currency={"type": "string", "pattern": "^[A-Z]{3}$", "minLength": 3, "maxLength": 3},
    )
    return found


def _closed(description: str, **properties: Any) -> dict[str, Any]:
    return {
        "type": "object",
        "description": description,
        "additionalProperties": False,
        "required": list(properties),
        "properties": properties,
    }

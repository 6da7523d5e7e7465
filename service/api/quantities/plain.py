"""Fields of plain JSON values: numbers that are numbers, words, true and false; and messages with a code."""

import re
from collections.abc import Callable, Collection, Mapping
from difflib import get_close_matches
from typing import Any, Self
from unicodedata import category

from marshmallow import ValidationError, fields

from service.errors import Fault
from service.limits.requests import LARGEST


class Coded(str):
    """A message with a code, which marshmallow carries through untouched."""

    code: str

    def __new__(cls, code: str, text: str) -> Self:
        new = super().__new__(cls, text)
        new.code = code
        return new

    def format(self, *args: object, **kwargs: object) -> "Coded":
        return Coded(self.code, super().format(*args, **kwargs))


class UnknownField(Coded):
    """The message about a field that no schema knows. known: the fields that may stand there."""

    known: tuple[str, ...]

    def __new__(cls, known: Collection[str]) -> Self:
        new = super().__new__(cls, "unknown-field", "Unknown field.")
        new.known = tuple(known)
        return new

    def nearest(self, name: str) -> str | None:
        """Return the known field that a name is most like, None where it is like none.

        gaugePressure is gauge_pressure, abv_percent is abv, temprature is temperature
        """
        if len(name) > _LONGEST_LIKENED:
            return None
        snake = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|[- ]", "_", name).lower()
        close = get_close_matches(snake, self.known, n=1)
        parts = [one for one in self.known if snake.startswith(f"{one}_") or one.startswith(f"{snake}_")]
        return next(iter(close or parts), None)


_LONGEST_LIKENED = 40
"""Characters of an unknown name that is held against the known ones; a bound of the service."""


def fault(code: str, text: str) -> ValidationError:
    """Return a validation error with one coded message."""
    return ValidationError([Coded(code, text)])


REQUIRED = Coded("required", "This field is required.")
NULL = Coded("null", "null is not accepted; leave the field out.")
fields.Field.default_error_messages.update(
    {"required": REQUIRED, "null": NULL}
)  # as its documentation does for all fields


PRINTABLE = r"^[^\u0000-\u001f\u007f-\u009f]*$"
"""A pattern for clients; that a text must not be blank either is left to the service."""


def finite(value: object) -> float:
    """Return the value as a float; booleans, strings, NaN and infinities are refused."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise fault("not-a-number", "Must be a number.")
    if not abs(value) <= 1e300:
        raise fault("not-finite", "Must be a finite number.")
    return float(value)


def shown(bound: float) -> str:
    """Return a bound for a sentence: no power of ten, nothing rounded."""
    return f"{bound:.12g}"


def description(text: str) -> dict[str, str]:
    """Return the metadata of a field with its description for the OpenAPI document."""
    return {"description": text}


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
            least = f"{'over' if self.above is not None else 'at least'} {shown(lowest)}"
            raise fault("out-of-range", f"Must be {least} and at most {shown(self.high)}{unit and ' ' + unit}.")
        return value

    def range_in(self, unit: str) -> str:
        """Return the bounds as a sentence."""
        lowest = f"From {shown(self.low)} to" if self.above is None else f"Over {shown(self.above)}, up to"
        return f"{lowest} {shown(self.high)} {unit}."

    def bounds(self) -> dict[str, Any]:
        lowest = {"minimum": self.low} if self.above is None else {"exclusiveMinimum": self.above}
        return {**lowest, "maximum": self.high}


class Number(Bounded):
    """A JSON number with bounds."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        return self.check(finite(value))

    def openapi(self) -> dict[str, Any]:
        return {"type": "number", "format": "double", **self.bounds()}


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
        if not value.isprintable() and any(category(c) == "Cc" for c in value):  # the first is fast, the second exact
            raise fault("control-character", "Must not contain control characters.")
        if value.isspace():
            raise fault("blank", "Must not be blank.")
        return value

    def openapi(self) -> dict[str, Any]:
        return {"type": "string", "minLength": self.shortest, "maxLength": self.longest, "pattern": PRINTABLE}


class Choice(fields.Field[str]):
    """One of a closed list of words."""

    def __init__(self, *words: str, otherwise: Callable[[object], Fault] | None = None, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.words, self.otherwise = words, otherwise

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, str) and value in self.words:
            return value
        if self.otherwise is not None:
            wrong = self.otherwise(value)
            raise fault(wrong.code, wrong.text)
        raise fault("not-a-choice", f"Must be one of: {', '.join(self.words)}.")

    def openapi(self) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.words)}


class LabelsField(Text):
    """Up to 16 string pairs, echoed and never kept."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, Mapping) or len(value) > 16:
            raise ValidationError([Coded("labels", "Must be an object of at most 16 strings.")])
        wrong: dict[str, Any] = {}
        for name, text in value.items():
            try:
                super()._deserialize(text, attr, data, **kwargs)
                super()._deserialize(name, attr, data, **kwargs)
            except ValidationError as error:
                wrong[name] = error.messages
        if wrong:
            raise ValidationError(wrong)
        return dict(value)

    def openapi(self) -> dict[str, Any]:
        return {
            "type": "object",
            "maxProperties": 16,
            "additionalProperties": super().openapi(),
        }

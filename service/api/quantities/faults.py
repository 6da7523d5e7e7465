"""Messages with a code."""

import re
from collections.abc import Collection
from difflib import get_close_matches
from typing import Self

from marshmallow import ValidationError, fields

from service.errors import Fault, Told


class Coded(str):
    """A message with a code, which marshmallow carries through untouched.

    Its {names} are filled in from params where the problem is written, in the language of the caller.
    """

    code: str
    params: tuple[tuple[str, Told], ...]

    def __new__(cls, code: str, text: str, **params: Told) -> Self:
        new = super().__new__(cls, text)
        new.code, new.params = code, tuple(params.items())
        return new

    def format(self, *args: object, **kwargs: object) -> Self:
        """Return it as it is: marshmallow fills in what it raises itself, and knows none of the params."""
        return self

    def at(self, pointer: str, name: str = "") -> Fault:
        """Return it as the fault of a field. name: by which the caller called the field"""
        return Fault(pointer, self.code, str(self), self.params)


class UnknownField(Coded):
    """The message about a field that no schema knows. known: the fields that may stand there."""

    known: tuple[str, ...]

    def __new__(cls, known: Collection[str]) -> Self:
        new = super().__new__(cls, "unknown-field", "Unknown field.")
        new.known = tuple(known)
        return new

    def at(self, pointer: str, name: str = "") -> Fault:
        """Return it as the fault of a field, which names the known one that is nearest."""
        nearest = self.nearest(name)
        if nearest is None:
            return super().at(pointer, name)
        text = "Unknown field; the nearest known one is {nearest}."
        return Fault(pointer, "unknown-field", text, (("nearest", nearest),))

    def nearest(self, name: str) -> str | None:
        """The known field that a name is most like, None where it is like none.

        gaugePressure is gauge_pressure, abv_percent is abv, temprature is temperature
        """
        if not 0 < len(name) <= _LONGEST_LIKENED:
            return None
        snake = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|[- ]", "_", name).lower()
        close = get_close_matches(snake, self.known, n=1)
        parts = [one for one in self.known if snake.startswith(f"{one}_") or one.startswith(f"{snake}_")]
        return next(iter(close or parts), None)


_LONGEST_LIKENED = 40
"""Characters of an unknown name that is held against the known ones; a bound of the service."""


def fault(code: str, text: str, **params: Told) -> ValidationError:
    """Return a validation error with one coded message."""
    return ValidationError([Coded(code, text, **params)])


REQUIRED = Coded("required", "This field is required.")
NULL = Coded("null", "null is not accepted; leave the field out.")
fields.Field.default_error_messages.update(
    {"required": REQUIRED, "null": NULL}
)  # as its documentation does for all fields

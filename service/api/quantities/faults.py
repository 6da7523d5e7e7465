"""Messages with a code."""

from typing import Self

from marshmallow import ValidationError


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


REQUIRED = Coded("required", "This field is required.")
NULL = Coded("null", "null is not accepted; leave the field out.")

"""Messages with a code, ours and those that marshmallow writes itself."""

from typing import Self

from marshmallow import ValidationError, fields


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
fields.List.default_error_messages["invalid"] = Coded("not-a-list", "Must be a list.")
fields.Nested.default_error_messages["type"] = Coded("not-an-object", "Must be an object.")

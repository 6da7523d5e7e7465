"""What every request and every answer is made of."""

from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, ClassVar

from marshmallow import EXCLUDE, RAISE, Schema, ValidationError, post_load, validates_schema

from service.api.quantities import Choice, Coded, Text, says


class Closed(Schema):
    """Base of everything a request may hold: unknown fields are refused."""

    class Meta:
        unknown = RAISE

    error_messages = {  # noqa: RUF012 - marshmallow's own convention
        "unknown": Coded("unknown-field", "Unknown field."),
        "type": Coded("not-an-object", "Must be an object."),
    }


class Part(Closed):
    """Base of a part of a request; loads to an object of the core."""

    loads_to: ClassVar[type[Any]]

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Any:
        return self.loads_to(**data)


def rule(check: Callable[[Any, Mapping[str, Any]], None]) -> Callable[..., None]:
    """A rule over an object as it was sent; checked where fields fail too, so that all faults are told at once."""

    @wraps(check)
    def checked(self: Schema, data: Any, sent: Any, **kwargs: Any) -> None:
        if isinstance(sent, Mapping):
            check(self, sent)

    hook: Callable[..., None] = validates_schema(checked, pass_original=True, skip_on_field_errors=False)
    return hook


class ExactlyOne(Part):
    """A choice: an object with exactly one of its properties."""

    @rule
    def one(self, sent: Mapping[str, Any]) -> None:
        if len(self.fields.keys() & sent.keys()) != 1:
            raise ValidationError([Coded("exactly-one", f"Give exactly one of: {', '.join(self.fields)}.")])


class Open(Schema):
    """Base of everything an answer holds; clients tolerate fields they do not know."""

    class Meta:
        unknown = EXCLUDE


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
            "additionalProperties": {"type": "string", "minLength": 1, "maxLength": self.longest},
        }


class Request(Closed):
    """What every request may hold."""

    units = Choice("metric", "us", load_default="metric", metadata=says("Units of the answer."))
    labels = LabelsField(metadata=says("Echoed in the answer; never hashed, stored or logged."))
    model = Text(longest=40, metadata=says("Insist on this model version; another is refused."))

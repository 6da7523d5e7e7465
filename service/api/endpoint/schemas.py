"""What every request and every answer is made of."""

from collections.abc import Callable, Mapping
from functools import wraps
from itertools import islice
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError, post_load, validates_schema

from service.api.quantities import Choice, Coded, LabelsField, Text, UnknownField, says
from service.api.wire.answered import Open

__all__ = ["ExactlyOne", "Open", "Part", "Request", "StrictSchema", "rule"]
Body = dict[str, Any]
MOST_FAULTS = 1000
"""That one problem document tells."""


class StrictSchema(Schema):
    """Base of everything a request may hold: unknown fields are refused, by the nearest name that is known."""

    class Meta:
        unknown = RAISE

    error_messages = {  # noqa: RUF012 - marshmallow's own convention
        "type": Coded("not-an-object", "Must be an object."),
    }

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.error_messages["unknown"] = UnknownField(self.fields)

    def load(self, data: Any, **kwargs: Any) -> Any:
        """Load as marshmallow does; of an object with far too many fields, what one problem document tells.

        raises: ValidationError, with every fault
        """
        if isinstance(data, Mapping) and len(data) > MOST_FAULTS:
            known = {name: data[name] for name in self.fields if name in data}
            data = known | dict(islice(data.items(), MOST_FAULTS))
        return super().load(data, **kwargs)

    def handle_error(self, error: ValidationError, data: Any, **kwargs: Any) -> None:
        """Put what is missing first, then what is wrong in the order it was sent."""
        if isinstance(error.messages, dict) and isinstance(data, Mapping):
            place = {name: i for i, name in enumerate(data)}
            error.messages = dict(sorted(error.messages.items(), key=lambda one: place.get(one[0], -1)))


class Part(StrictSchema):
    """Base of a part of a request; loads to an object of the core."""

    loads_to: ClassVar[type[Any]]

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Any:
        return self.loads_to(**data)


def rule(check: Callable[[Any, Mapping[str, Any]], None]) -> Callable[..., None]:
    """A rule over an object as it was sent; checked where fields fail too, so that all faults are told at once."""

    @wraps(check)
    def over(self: Any, data: Any, sent: Any, **kwargs: Any) -> None:
        if isinstance(sent, Mapping):
            check(self, sent)

    return validates_schema(over, pass_original=True, skip_on_field_errors=False)


class ExactlyOne(Part):
    """A choice: an object with exactly one of its properties."""

    @rule
    def one(self, sent: Mapping[str, Any]) -> None:
        if len(self.fields.keys() & sent.keys()) != 1:
            raise ValidationError([Coded("exactly-one", f"Give exactly one of: {', '.join(self.fields)}.")])


class Request(StrictSchema):
    """What every request may hold."""

    units = Choice("metric", "us", load_default="metric", metadata=says("Units of the answer."))
    labels = LabelsField(metadata=says("Echoed in the answer; never hashed, stored or logged."))
    model = Text(longest=40, metadata=says("Insist on this model version; another is refused."))

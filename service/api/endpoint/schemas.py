"""What every request and every answer is made of."""

from collections.abc import Callable, Mapping
from functools import wraps
from itertools import islice
from typing import Any, ClassVar

from marshmallow import EXCLUDE, RAISE, Schema, ValidationError, missing, post_load, validates_schema

from service.api.quantities import Choice, Coded, Text, says

Body = dict[str, Any]
MOST_FAULTS = 1000
"""That one problem document tells."""


class Closed(Schema):
    """Base of everything a request may hold: unknown fields are refused."""

    class Meta:
        unknown = RAISE

    error_messages = {  # noqa: RUF012 - marshmallow's own convention
        "unknown": Coded("unknown-field", "Unknown field."),
        "type": Coded("not-an-object", "Must be an object."),
    }

    def _deserialize(self, data: Any, *, error_store: Any, **kwargs: Any) -> Body:
        """As marshmallow does it, without what no request uses: lists of schemas, partial loads, dotted names.

        Half of what a request costs is spent here, most of it on fields that are left out.
        """
        if not isinstance(data, Mapping):
            error_store.store_error([self.error_messages["type"]])
            return {}
        loaded: Body = {}
        for name, field in self.load_fields.items():
            value = data.get(name, missing)
            if value is missing and not field.required:
                if field.load_default is not missing:
                    loaded[field.attribute or name] = field.load_default
                continue
            # no field here has validators of marshmallow's own, which deserialize would gather anew each time
            load = field.deserialize if value is None or value is missing else field._deserialize
            try:
                loaded[field.attribute or name] = load(value, name, data)
            except ValidationError as error:
                error_store.errors[name] = error.messages  # its store_error would copy them at every level
        for name in islice(data.keys() - self.load_fields.keys(), MOST_FAULTS):
            error_store.errors[name] = [self.error_messages["unknown"]]
        return loaded


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
            "additionalProperties": super().openapi(),
        }


class Request(Closed):
    """What every request may hold."""

    units = Choice("metric", "us", load_default="metric", metadata=says("Units of the answer."))
    labels = LabelsField(metadata=says("Echoed in the answer; never hashed, stored or logged."))
    model = Text(longest=40, metadata=says("Insist on this model version; another is refused."))

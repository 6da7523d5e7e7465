"""What every request and every answer is made of."""

from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from marshmallow import EXCLUDE, RAISE, Schema, ValidationError, fields, missing, post_load, validates_schema
from marshmallow.decorators import POST_LOAD, VALIDATES_SCHEMA
from marshmallow.error_store import merge_errors

from service.api.quantities import NULL, REQUIRED, Choice, Coded, Text, UnknownField, says
from service.limits.requests import MOST_FAULTS

Body = dict[str, Any]


class Closed(Schema):
    """Base of everything a request may hold: unknown fields are refused."""

    class Meta:
        unknown = RAISE

    error_messages = {  # noqa: RUF012 - marshmallow's own convention
        "type": Coded("not-an-object", "Must be an object."),
    }

    def _init_fields(self) -> None:
        super()._init_fields()
        named = [(name, field.attribute or name, field) for name, field in self.load_fields.items()]
        self._loads = {name: (attribute, loader_of(field)) for name, attribute, field in named}
        self._unknown = UnknownField(self._loads)
        self._required = [name for name, _, field in named if field.required]
        self._defaults = {at: field.load_default for _, at, field in named if field.load_default is not missing}
        self._rules = [getattr(self, name) for name, *_ in self._hooks[VALIDATES_SCHEMA]]
        self._makers = [(getattr(self, name), how["pass_original"]) for name, _, how in self._hooks[POST_LOAD]]

    def load(self, data: Any, *_: Any, **__: Any) -> Any:
        """As marshmallow does it, without what no request uses: lists of schemas, partial loads, hooks before.

        Those double what a request costs to load.

        raises: ValidationError, with every fault
        """
        if not isinstance(data, dict):
            raise ValidationError([self.error_messages["type"]])
        loaded, wrong = self._loaded(data)
        for check in self._rules:
            try:
                check(data)
            except ValidationError as error:
                wrong = merge_errors(wrong, error.normalized_messages())  # type: ignore[no-untyped-call]
        if wrong:
            faults = ValidationError(wrong)
            self.handle_error(faults, data, many=False)
            raise faults
        made: Any = loaded
        for make, with_sent in self._makers:
            made = make(made, data) if with_sent else make(made)
        return made

    def _loaded(self, data: Body) -> tuple[Body, Body]:
        """The fields that were sent, and what is wrong with them or missing."""
        loaded = dict(self._defaults)
        wrong: Body = {name: [REQUIRED] for name in self._required if name not in data}
        for name, value in data.items():
            if name not in self._loads:
                if len(wrong) < MOST_FAULTS:
                    wrong[name] = [self._unknown]
            elif value is None:
                wrong[name] = [NULL]
            else:
                attribute, load = self._loads[name]
                try:
                    loaded[attribute] = load(value, name, data)
                except ValidationError as error:
                    wrong[name] = error.messages
        return loaded, wrong


def loader_of(field: fields.Field[Any]) -> Callable[[Any, str | None, Any], Any]:
    """What loads a value of a field, given its name and the object that it stands in; a schema does so itself."""
    load: Callable[..., Any] = field.schema.load if type(field) is fields.Nested else field._deserialize
    return load


class Part(Closed):
    """Base of a part of a request; loads to an object of the core."""

    loads_to: ClassVar[type[Any]]

    @post_load
    def make(self, data: Mapping[str, Any], **kwargs: Any) -> Any:
        return self.loads_to(**data)


def rule(check: Callable[[Any, Mapping[str, Any]], None]) -> Callable[..., None]:
    """A rule over an object as it was sent; checked where fields fail too, so that all faults are told at once."""

    hook: Callable[..., None] = validates_schema(check)
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

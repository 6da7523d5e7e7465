"""Lists of bounded length."""

from typing import Any

from marshmallow import Schema, ValidationError, fields

from service.api.endpoint.schemas import loader_of
from service.api.quantities import NULL, fault


class Items(fields.List[Any]):
    """A list of bounded length; a list that is too long gets one fault, not one per item."""

    def __init__(self, inner: fields.Field[Any] | type[Schema], *, most: int, least: int = 1, **kwargs: Any) -> None:
        super().__init__(fields.Nested(inner) if not isinstance(inner, fields.Field) else inner, **kwargs)
        self.least, self.most = least, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise fault("not-a-list", "Must be a list.")
        if not self.least <= len(value) <= self.most:
            raise fault("length", f"Must hold {self.least} to {self.most} items; this holds {len(value)}.")
        load, found, wrong = loader_of(self.inner), [], {}
        for i, item in enumerate(value):
            try:
                found.append(load(item, attr, data))
            except ValidationError as error:
                wrong[i] = error.messages if item is not None else [NULL]
        if wrong:
            raise ValidationError(wrong)
        return tuple(found)

    def bounds(self) -> dict[str, Any]:
        return {"minItems": self.least, "maxItems": self.most}

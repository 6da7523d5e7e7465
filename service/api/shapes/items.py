"""Lists of bounded length."""

from typing import Any

from marshmallow import Schema, ValidationError, fields

from service.api.quantities import Coded


class Items(fields.List[Any]):
    """A list of bounded length; a list that is too long gets one fault, not one per item."""

    def __init__(self, inner: fields.Field[Any] | type[Schema], *, most: int, least: int = 1, **kwargs: Any) -> None:
        super().__init__(fields.Nested(inner) if not isinstance(inner, fields.Field) else inner, **kwargs)
        self.least, self.most = least, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, list) and not self.least <= len(value) <= self.most:
            raise ValidationError(
                [Coded("length", f"Must hold {self.least} to {self.most} items; this holds {len(value)}.")]
            )
        return tuple(super()._deserialize(value, attr, data, **kwargs))

    def bounds(self) -> dict[str, Any]:
        return {"minItems": self.least, "maxItems": self.most}

"""What answers hold. Answers are plain dictionaries; of these fields only the OpenAPI form matters."""

from typing import Any

from marshmallow import fields

from service.api.quantities.components import BANDS, COMPONENTS, NUMBER


class Answered(fields.Field[Any]):
    """A field of an answer, by its OpenAPI form."""

    def __init__(self, schema: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(**{"required": True, **kwargs})
        self.schema = schema

    def openapi(self) -> dict[str, Any]:
        return self.schema


def q(kind: str, **kwargs: Any) -> Answered:
    """A quantity in an answer."""
    name = "Acidity" if kind == "acidity" else COMPONENTS[kind][0]
    return Answered({"$ref": f"#/components/schemas/{name}"}, **kwargs)


def band(kind: str, **kwargs: Any) -> Answered:
    """Low, typical and high of a quantity in an answer; kind "number" has no unit."""
    name = "NumberRange" if kind == "number" else BANDS[kind]
    return Answered({"$ref": f"#/components/schemas/{name}"}, **kwargs)


def number(**kwargs: Any) -> Answered:
    """A plain number in an answer."""
    return Answered(NUMBER, **kwargs)


def whole(**kwargs: Any) -> Answered:
    """A whole number in an answer."""
    return Answered({"type": "integer", "format": "int32", "minimum": 0, "maximum": 100_000_000}, **kwargs)


def text(longest: int = 2000, **kwargs: Any) -> Answered:
    """A string in an answer."""
    return Answered({"type": "string", "maxLength": longest}, **kwargs)


def texts(longest: int = 2000, most: int = 1000, **kwargs: Any) -> Answered:
    """A list of strings in an answer."""
    return Answered({"type": "array", "maxItems": most, "items": {"type": "string", "maxLength": longest}}, **kwargs)


def flag(**kwargs: Any) -> Answered:
    """true or false in an answer."""
    return Answered({"type": "boolean"}, **kwargs)


def money(**kwargs: Any) -> Answered:
    """An amount of money in an answer."""
    return Answered({"$ref": "#/components/schemas/Money"}, **kwargs)

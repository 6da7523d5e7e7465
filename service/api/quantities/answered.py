"""Quantities, bands, money and texts of answers, as the OpenAPI document has them; answers are plain dictionaries."""

from typing import Any

from marshmallow import fields

from service.science import units

COMPONENTS: dict[str, tuple[str, tuple[str, ...]]] = {
    "volume": ("Volume", tuple(units.FACTORS["volume"])),
    "mass": ("Mass", tuple(units.FACTORS["mass"])),
    "amount": ("VolumeOrMass", (*units.FACTORS["volume"], *units.FACTORS["mass"])),
    "pressure": ("Pressure", tuple(units.FACTORS["pressure"])),
    "temperature": ("Temperature", tuple(units.SCALES)),
    "duration": ("Duration", tuple(units.FACTORS["duration"])),
    "co2": ("Co2", tuple(units.FACTORS["co2"])),
    "sugar": ("Sugar", (*units.FACTORS["sugar"], "brix")),
    "length": ("Length", tuple(units.FACTORS["length"])),
    "salt": ("Salt", tuple(units.FACTORS["salt"])),
}
"""Kind -> OpenAPI component and its units."""
BASE_UNITS = {
    "amount": "ml or g",
    "temperature": "c",
    **{kind: next(unit for unit, factor in of.items() if factor == 1.0) for kind, of in units.FACTORS.items()},
}
"""Kind -> unit that bounds are stated in."""
BANDS = {
    kind: f"{COMPONENTS[kind][0]}Band"
    for kind in ("volume", "mass", "pressure", "temperature", "duration", "co2", "length")
}
"""Kind -> OpenAPI component of its estimates."""
ACIDITY_UNITS = ("g/l", *units.FACTORS["acidity"])
ACIDS = ("citric", "tartaric")
"""Acids that an acidity in g/l may be expressed as."""
PRICE = r"[0-9]{1,8}(\.[0-9]{1,6})?"
"""Pattern of an amount of money in a request."""
NUMBER = {"type": "number", "format": "double", "minimum": -1e12, "maximum": 1e12}


def quantity_components() -> dict[str, dict[str, Any]]:
    """Return the OpenAPI components of quantities, bands and money."""
    found: dict[str, dict[str, Any]] = {}
    for kind, (name, allowed) in COMPONENTS.items():
        unit = {"type": "string", "enum": list(allowed)}
        found[name] = _closed(f"A {kind} with its unit.", value=NUMBER, unit=unit)
        if kind in BANDS:
            found[BANDS[kind]] = _estimated(kind, unit=unit)
    price = _money("A price", PRICE)
    cost = _money("Money", r"-?[0-9]{1,17}(\.[0-9]{1,12})?")
    return {**found, "NumberRange": _estimated("number"), "Acidity": _acidity(), "PackagePrice": price, "Money": cost}


def _estimated(kind: str, **unit: Any) -> dict[str, Any]:
    text = f"An estimated {kind}: about nine times in ten the truth lies between low and high."
    return _closed(text, low=NUMBER, typical=NUMBER, high=NUMBER, **unit)


def _acidity() -> dict[str, Any]:
    acidity = _closed(
        "Titratable acidity; in g/l it is expressed as an acid.",
        value=NUMBER,
        unit={"type": "string", "enum": list(ACIDITY_UNITS)},
        expressed_as={"type": "string", "enum": list(ACIDS)},
    )
    return {**acidity, "required": ["value", "unit"]}


def _money(what: str, pattern: str) -> dict[str, Any]:
    return _closed(
        f"{what}: a decimal number as a string, and an ISO 4217 code.",
        amount={"type": "string", "pattern": f"^{pattern}$", "maxLength": 32},
        currency={"type": "string", "pattern": "^[A-Z]{3}$", "minLength": 3, "maxLength": 3},
    )


def _closed(description: str, **properties: Any) -> dict[str, Any]:
    return {
        "type": "object",
        "description": description,
        "additionalProperties": False,
        "required": list(properties),
        "properties": properties,
    }


class Answered(fields.Field[Any]):
    """A field of an answer, by its OpenAPI form."""

    def __init__(self, schema: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(**{"required": True, **kwargs})
        self.schema = schema

    def openapi(self) -> dict[str, Any]:
        return self.schema


def q(kind: str, **kwargs: Any) -> Answered:
    """Return the field of a quantity in an answer."""
    name = "Acidity" if kind == "acidity" else COMPONENTS[kind][0]
    return Answered({"$ref": f"#/components/schemas/{name}"}, **kwargs)


def band(kind: str, **kwargs: Any) -> Answered:
    """Return the field of a band in an answer; kind "number" has no unit."""
    name = "NumberRange" if kind == "number" else BANDS[kind]
    return Answered({"$ref": f"#/components/schemas/{name}"}, **kwargs)


def number(**kwargs: Any) -> Answered:
    """Return the field of a plain number in an answer."""
    return Answered(NUMBER, **kwargs)


def whole(**kwargs: Any) -> Answered:
    """Return the field of a whole number in an answer."""
    return Answered({"type": "integer", "format": "int32", "minimum": 0, "maximum": 100_000_000}, **kwargs)


def text(longest: int = 2000, **kwargs: Any) -> Answered:
    """Return the field of a string in an answer."""
    return Answered({"type": "string", "maxLength": longest}, **kwargs)


def texts(longest: int = 2000, most: int = 1000, **kwargs: Any) -> Answered:
    """Return the field of a list of strings in an answer."""
    return Answered({"type": "array", "maxItems": most, "items": {"type": "string", "maxLength": longest}}, **kwargs)


def flag(**kwargs: Any) -> Answered:
    """Return the field of true or false in an answer."""
    return Answered({"type": "boolean"}, **kwargs)


def money(**kwargs: Any) -> Answered:
    """Return the field of an amount of money in an answer."""
    return Answered({"$ref": "#/components/schemas/Money"}, **kwargs)

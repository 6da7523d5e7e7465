"""Units of measurement: factors by kind, scales of temperature, and a quantity tagged with its kind.

Inside the service every quantity is a float in the base unit of its kind: ml, g, bar, c, s, g/l, m, meq/l.
source: data/units.csv and data/temperature_scales.csv, line by line
"""

import re
from dataclasses import dataclass
from typing import Literal, get_args

from service.science import tables

Kind = Literal[
    "volume", "mass", "pressure", "temperature", "duration", "co2", "sugar", "length", "acidity", "density", "salt"
]
UnitSystem = Literal["metric", "us"]


@dataclass(frozen=True)
class Unit:
    """One unit of a kind, a multiple of the base unit. exact: by definition, or exact arithmetic on definitions."""

    factor: float
    exact: bool
    basis: str
    source: str


@dataclass(frozen=True)
class Scale:
    """A scale of temperature. degrees: so many make a difference of 1 degC; at_0_c: its reading at 0 degC."""

    degrees: float
    at_0_c: float
    basis: str
    source: str


def _product(text: str) -> float:
    """The value of numbers with * and / between them, worked out from left to right."""
    first, *rest = re.split("([*/])", text)
    value = tables.number("units", first)
    for sign, number in zip(rest[::2], rest[1::2], strict=True):
        value = value * tables.number("units", number) if sign == "*" else value / tables.number("units", number)
    return value


def _units() -> dict[str, dict[str, Unit]]:
    """Read the units of each kind.

    raises: ValueError
    """
    found: dict[str, dict[str, Unit]] = {}
    for row in tables.rows("units"):
        kind = tables.known("units", row["kind"], _BY_FACTOR)
        unit = Unit(_product(row["factor"]), tables.flag("units", row["exact"]), row["basis"], row["source"])
        found.setdefault(kind, {})[row["unit"]] = unit
    both = found["volume"].keys() & found["mass"].keys()
    if both:  # an amount is either, told by its unit
        raise ValueError(f"units.csv: {', '.join(sorted(both))} of volume and of mass")
    return found


_BY_FACTOR = tuple(kind for kind in get_args(Kind) if kind != "temperature")
UNITS = _units()
"""Kind -> its units, in the table's order; source: units.csv, line by line."""
FACTORS: dict[str, dict[str, float]] = {
    kind: {name: unit.factor for name, unit in of.items()} for kind, of in UNITS.items()
}
"""Multiply by the factor to reach the base unit. Temperature, brix and acids as g/l are not factors."""
SCALES = {
    row["unit"]: Scale(float(row["degrees"]), float(row["at_0_c"]), row["basis"], row["source"])
    for row in tables.rows("temperature_scales")
}
"""Scales of temperature; source: temperature_scales.csv, line by line."""

ANSWER_UNITS: dict[UnitSystem, dict[str, str]] = {
    "metric": {
        "volume": "ml",
        "mass": "g",
        "pressure": "bar",
        "temperature": "c",
        "duration": "min",
        "co2": "g/l",
        "sugar": "g/l",
        "length": "m",
        "acidity": "meq/l",
        "density": "g/ml",
        "salt": "g/l",
    },
    "us": {
        "volume": "oz",
        "mass": "g",
        "pressure": "psi",
        "temperature": "f",
        "duration": "min",
        "co2": "volumes",
        "sugar": "g/l",
        "length": "ft",
        "acidity": "meq/l",
        "density": "g/ml",
        "salt": "g/l",
    },
}


@dataclass(frozen=True)
class Quantity:
    """A number in the base unit of its kind, for places that carry mixed kinds (messages, facts).

    shown: where its last printed digit goes; a limit never rounds to its unsafe side
    """

    kind: Kind
    value: float
    shown: Literal["nearest", "down", "up"] = "nearest"


def to_base(kind: str, value: float, unit: str) -> float:
    """Value in the base unit of its kind.

    raises: KeyError for a unit that is not of this kind
    """
    if kind == "temperature":
        return (value - SCALES[unit].at_0_c) / SCALES[unit].degrees
    return value * FACTORS[kind][unit]


def from_base(kind: str, value: float, unit: str) -> float:
    """Return a value of the base unit of its kind in another unit; the inverse of `to_base`."""
    if kind == "temperature":
        return value * SCALES[unit].degrees + SCALES[unit].at_0_c
    return value / FACTORS[kind][unit]

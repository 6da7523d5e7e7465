"""Masses as people at a bench read them."""

import re
from collections.abc import Mapping
from typing import Any

_GRAMS = re.compile(r"(?P<kilos>\d.*?)\D?(?P<grams>\d{3})(?P<point>\D)(?P<tenths>\d)")
"""A kilogram and more, to a tenth of a gram, in the manner of any place: 7300.0, 7,300.0 or 7.300,0."""


def mass(text: str, unit: str) -> str:
    """Grams as a text, from a thousand on as kilograms with every digit that counts; all else as it stands."""
    figure = _GRAMS.fullmatch(text.removesuffix(" g")) if unit == "g" else None
    if figure is None:
        return text
    part = (figure["grams"] + figure["tenths"]).rstrip("0")
    return figure["kilos"] + (figure["point"] + part if part else "") + " kg"


_AS_WEIGHED = ("component", "scale-takes")
"""Values that stand beside a scale, which shows grams: kilograms among them would be misread."""


def told(value: Mapping[str, Any]) -> str:
    """Return a value of a step as people read it."""
    text: str = value["text"]
    return text if value.get("code") in _AS_WEIGHED else mass(text, value.get("unit", ""))

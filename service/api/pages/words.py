"""Words and masses for paper: nothing that callers wrote steers a printer, turns a line or breaks a file."""

import re
from collections.abc import Mapping
from typing import Any
from unicodedata import bidirectional, category, combining, normalize

TURNS = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Characters that only turn the direction of writing, also that of their neighbours."""
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_ASCII = str.maketrans({
    "°": "deg", "′": "'", "″": '"', "‘": "'", "’": "'", "“": '"', "”": '"', "−": "-", "‐": "-", "‑": "-", "–": "-",
    "—": "-", "×": "x", "·": ".", "•": "*", "≤": "<=", "≥": ">=", "±": "+/-", "μ": "u", "⁄": "/", "ß": "ss", "Æ": "AE",
    "æ": "ae", "Ø": "O", "ø": "o", "Œ": "OE", "œ": "oe", "Ł": "L", "ł": "l", "Đ": "D", "đ": "d", "ı": "i", "Þ": "Th",
    "þ": "th", "ð": "d", "€": "EUR", "£": "GBP", "¥": "JPY",
})  # fmt: skip
"""Characters without a decomposition in Unicode, as people type them."""
_ISOLATE, _END, _LEFT_TO_RIGHT = "\u2068", "\u2069", "\u200e"


def _(sentence: str) -> str:
    """Mark a sentence for the catalogue, where it is kept before anyone says it."""
    return sentence


def strip_control_marks(words: str) -> str:
    """The words without what turns the direction of writing, and without what no XML document may hold."""
    return TURNS.sub("", _NOT_XML.sub("\ufffd", words))


def ascii_only(words: str) -> str:
    """Return the words in ASCII: accents dropped, signs spelt, anything else as a question mark.

    source: compatibility decomposition, Unicode Standard Annex 15
    """
    plain = normalize("NFKD", strip_control_marks(words).translate(_ASCII)).translate(_ASCII)
    kept = (c for c in plain if not combining(c) and category(c) not in ("Cf", "Mn", "Me"))
    return "".join(c if c.isascii() else " " if c.isspace() else "?" for c in kept)


def isolated(words: str) -> str:
    """Return words for a line of plain text, those from right to left isolated from their neighbours (UAX 9)."""
    return f"{_ISOLATE}{words}{_END}" if _from_the_right(words) else words


def left_to_right(line: str) -> str:
    """Return a line of plain text that reads from left to right, whatever its first letter."""
    return _LEFT_TO_RIGHT + line if _from_the_right(line) else line


def _from_the_right(words: str) -> bool:
    return not words.isascii() and any(bidirectional(c) in ("R", "AL", "AN") for c in words)


_GRAMS = re.compile(r"(?P<kilos>\d.*?)\D?(?P<grams>\d{3})(?P<point>\D)(?P<tenths>\d)")
"""A kilogram and more, to a tenth of a gram, in the manner of any place: 7300.0, 7,300.0 or 7.300,0."""


def mass_text(text: str, unit: str) -> str:
    """Return grams of a thousand or more as kilograms with every digit that counts; any other text as it is."""
    figure = _GRAMS.fullmatch(text.removesuffix(" g")) if unit == "g" else None
    if figure is None:
        return text
    part = (figure["grams"] + figure["tenths"]).rstrip("0")
    return figure["kilos"] + (figure["point"] + part if part else "") + " kg"


_AS_WEIGHED = ("component", "scale-takes")
"""Values that stand beside a scale, which shows grams: kilograms among them would be misread."""


def step_value_text(value: Mapping[str, Any]) -> str:
    """Return a value of a step as people read it."""
    text: str = value["text"]
    return text if value.get("code") in _AS_WEIGHED else mass_text(text, value.get("unit", ""))

"""What callers wrote, as it may stand on paper: nothing in it steers a printer, turns a line or breaks a file."""

import re
from unicodedata import bidirectional, category, combining, normalize

TURNS = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Characters that only turn the direction of writing, which would turn what stands beside them too."""
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_ASCII = str.maketrans({
    "°": "deg", "′": "'", "″": '"', "‘": "'", "’": "'", "“": '"', "”": '"', "−": "-", "‐": "-", "‑": "-", "–": "-",
    "—": "-", "×": "x", "·": ".", "•": "*", "≤": "<=", "≥": ">=", "±": "+/-", "μ": "u", "⁄": "/", "ß": "ss", "Æ": "AE",
    "æ": "ae", "Ø": "O", "ø": "o", "Œ": "OE", "œ": "oe", "Ł": "L", "ł": "l", "Đ": "D", "đ": "d", "ı": "i", "Þ": "Th",
    "þ": "th", "ð": "d", "€": "EUR", "£": "GBP", "¥": "JPY",
})  # fmt: skip
"""What has no decomposition in Unicode, as people type it."""
_ISOLATE, _END, _LEFT_TO_RIGHT = "\u2068", "\u2069", "\u200e"


def _(sentence: str) -> str:
    """Mark a sentence for the catalogue, where it is kept before anyone says it."""
    return sentence


def still(words: str) -> str:
    """The words without what turns the direction of writing, and without what no XML document may hold."""
    return TURNS.sub("", _NOT_XML.sub("\ufffd", words))


def ascii_only(words: str) -> str:
    """The words in ASCII: accents dropped, signs spelt, what has neither as a question mark.

    source: compatibility decomposition, Unicode Standard Annex 15
    """
    plain = normalize("NFKD", still(words).translate(_ASCII)).translate(_ASCII)
    kept = (c for c in plain if not combining(c) and category(c) not in ("Cf", "Mn", "Me"))
    return "".join(c if c.isascii() else " " if c.isspace() else "?" for c in kept)


def isolated(words: str) -> str:
    """Words that stand beside others in a line of plain text; those from the right keep to themselves (UAX 9)."""
    return f"{_ISOLATE}{words}{_END}" if _from_the_right(words) else words


def led_from_the_left(line: str) -> str:
    """A line of plain text whose first letter may be one from the right."""
    return _LEFT_TO_RIGHT + line if _from_the_right(line) else line


def _from_the_right(words: str) -> bool:
    return not words.isascii() and any(bidirectional(c) in ("R", "AL", "AN") for c in words)

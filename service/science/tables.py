"""The tables of data/, read once, at import. Line 1 of each is a comment that cites its source."""

import csv
from bisect import bisect_right
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from importlib.resources import files

_DATA = files("service.science") / "data"


def names() -> tuple[str, ...]:
    """Return the name of every table: its file name without the ending."""
    return tuple(sorted(f.name.removesuffix(".csv") for f in _DATA.iterdir() if f.name.endswith(".csv")))


def citation(name: str) -> str:
    """Return the source of data/{name}.csv, as its first line cites it.

    raises: FileNotFoundError; ValueError where it cites none
    """
    return _read(name)[0]


def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of data/{name}.csv as dictionaries of text.

    name: file name without its ending
    raises: FileNotFoundError; ValueError where it does not cite its source
    """
    return tuple(csv.DictReader(_read(name)[1].splitlines()))


def known(name: str, word: str, words: Collection[str]) -> str:
    """Return a word of data/{name}.csv that has to be one of a list.

    raises: ValueError where it is none of them
    """
    if word not in words:
        raise ValueError(f"{name}.csv: {word!r} is none of {', '.join(words)}")
    return word


def flag(name: str, word: str) -> bool:
    """Return a yes or no of data/{name}.csv as a truth value.

    raises: ValueError where it is neither
    """
    return known(name, word, ("yes", "no")) == "yes"


def number(name: str, word: str) -> float:
    """Return a number of data/{name}.csv.

    raises: ValueError where it is none
    """
    try:
        return float(word)
    except ValueError:
        raise ValueError(f"{name}.csv: {word!r} is no number") from None


def _read(name: str) -> tuple[str, str]:
    first, table = (_DATA / f"{name}.csv").read_text(encoding="utf-8").split("\n", 1)
    if not first.startswith("# source: "):
        raise ValueError(f"{name}.csv does not cite a source on line 1")
    return first.removeprefix("# source: "), table


Curve = Sequence[tuple[float, float]]


def value_at(curve: Curve, x: float) -> float:
    """Value on the line through the two points around x; the caller keeps x within the table.

    curve: two or more points (x, y), x rising
    """
    after = min(max(bisect_right(curve, (x,)), 1), len(curve) - 1)
    (x0, y0), (x1, y1) = curve[after - 1], curve[after]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


@dataclass(frozen=True)
class Source:
    """One work, as it is cited; doi and url are empty where none is known here."""

    key: str
    kind: str
    citation: str
    doi: str
    url: str


SOURCES = tuple(Source(**row) for row in rows("sources"))

"""A chart as inert SVG that any page may hold: where everything goes; templates/chart.svg has the elements.

Nobody knows the font of the reader, so words are measured by what they take at most and are given that room; nothing is
squeezed. Colours are attributes, under class names by which a page may set others, as ours does where it is dark.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import ceil, floor, log10
from pathlib import Path
from typing import Literal, NamedTuple

from wcwidth import wcwidth

from service.api.pages.printed import environment

INK, SOFT, LIMIT = "#16212b", "#4a5863", "#7a2e1d"
WIDTH, PLOT_HEIGHT, MARGIN = 440.0, 190.0, 14.0
"""Layout [px]; at 440 px it fits between the figures of a page and, with text of 12, a phone of 360."""
TEXT, HEADING, LEADING = 12.0, 15.0, 16.0
END_WIDTH = 110.0
"""Names of lines that are wider go on two lines [px]."""
_GAP = 8.0
_EMS = (
    (0.37, " ijl.,:;'|!\u00a0\u202f"), (0.46, "Iftr()[]-/₂"), (0.84, "+=±<>~#&−w"), (1.08, "mMW@%—…"),
)  # fmt: skip
_EM, _CAPITAL_EM, _FULL_WIDTH_EM = 0.64, 0.84, 1.3
"""Widths of letters over their size, at most: advances of DejaVu Sans, which is about as wide as any in use."""
_BOLD = 1.12
_STEPS = (1.0, 2.0, 5.0, 10.0)

Point = tuple[float, float]
Look = Literal["main", "thin", "limit", "soft"]
"""Of a line and its name: the one to read, another, one not to pass, no line; they differ in width and dashes."""
Kind = Literal["band", "ring", "cross", "triangle"]
_TEMPLATES = environment(Path(__file__).parent / "templates")


@dataclass(frozen=True)
class Caption:
    """The caption of a chart.

    heading: ours, printed above it; name: the caller's, under it where there is one; reading: the figure that matters
    description: the chart in words
    """

    heading: str
    name: str
    reading: str
    description: str


class End(NamedTuple):
    """The name of a line, written at its right end."""

    at: Point
    words: str
    look: Look


class Key(NamedTuple):
    """An entry of a legend: a mark and its name."""

    kind: Kind
    words: str


class Tick(NamedTuple):
    """A place on an axis, and what stands there."""

    at: float
    words: str


class Text(NamedTuple):
    """Lines of words [px]."""

    x: float
    y: float
    lines: Sequence[str]
    look: str


def room(words: str, size: float = TEXT) -> float:
    """Return the width that words take at most in a common sans serif font [px], those as wide as Verdana included."""
    return size * sum(map(_em, words))


@cache
def _em(letter: str) -> float:
    columns = wcwidth(letter)
    if columns != 1:
        return _FULL_WIDTH_EM * max(columns, 0) / 2
    usual = _CAPITAL_EM if letter.isupper() else _EM
    return next((em for em, letters in _EMS if letter in letters), usual)


def wrapped(words: str, width: float, size: float = TEXT) -> list[str]:
    """Return words in lines that fit a width, but for a single word that is wider."""
    lines = [""]
    for word in words.split(" "):
        longer = f"{lines[-1]} {word}".lstrip()
        if lines[-1] and room(longer, size) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def cut(words: str, width: float) -> str:
    """Return as much of words as fits on one line."""
    if room(words) <= width:
        return words
    taken, kept = room("…"), 0
    for kept, letter in enumerate(words):  # noqa: B007 - used below
        taken += TEXT * _em(letter)
        if taken > width:
            break
    return f"{words[:kept].rstrip()}…"


def round_steps(low: float, high: float, most: int) -> tuple[Sequence[float], int]:
    """Return round numbers from low to high, at most so many steps apart, and the decimals that they need."""
    least = (high - low) / max(1, most)
    power = floor(log10(least))
    step = next(each for each in _STEPS if each * 10.0**power >= least * (1.0 - 1e-9)) * 10.0**power
    decimals = max(0, -floor(log10(step) + 1e-9))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [round(i * step, decimals) for i in range(first, last + 1)], decimals


@dataclass
class Chart:
    """A chart in the making: its frame is laid out from its words, then lines and areas are drawn into it.

    counts: what the vertical axis tells, and in which unit; x, y: least and most of each axis
    ends: names of lines; legend: what else is to be named
    """

    caption: Caption
    counts: str
    x: Point
    y: Point
    ends: Sequence[End]
    legend: Sequence[Key]
    keys: list[tuple[Kind, Text]] = field(default_factory=list)
    drawn: list[tuple[str, str]] = field(default_factory=list)
    """Areas and lines: how they look, and their path."""
    marks: list[tuple[Kind, float, float, float]] = field(default_factory=list)
    """Their kind, place and size [px]."""
    texts: list[Text] = field(default_factory=list)

    def __post_init__(self) -> None:
        top = self._key(self._caption())
        self.texts.append(Text(MARGIN, top, [self.counts], "ink"))
        self.top = top + 12.0
        self.bottom = self.top + PLOT_HEIGHT
        widest = max(room(line) for end in self.ends for line in _lines(end))
        self.left, self.right = 52.0, float(floor(WIDTH - _GAP - widest))
        self.texts += self._named()

    def _caption(self) -> float:
        """Place the caption; return the foot of its last line."""
        across, y = WIDTH - 2 * MARGIN, 22.0
        heading = wrapped(self.caption.heading, across / _BOLD, HEADING)
        name = [cut(self.caption.name, across)] if self.caption.name else []
        for look, lines in (("heading", heading), ("soft", name), ("ink", wrapped(self.caption.reading, across))):
            if lines:
                self.texts.append(Text(MARGIN, y, lines, look))
                y += LEADING * len(lines)
        return y

    def _key(self, y: float) -> float:
        """Place what the legend names, in as many rows as it needs; return the foot of what comes next."""
        x = MARGIN
        for kind, words in self.legend:
            if x > MARGIN and x + 24.0 + room(words) > WIDTH - MARGIN:
                x, y = MARGIN, y + LEADING
            self.keys.append((kind, Text(x + 24.0, y, [words], "ink")))
            x += 24.0 + room(words) + 12.0
        return y + 22.0

    def across(self, x: float) -> float:
        """Return where a figure of the horizontal axis is [px]."""
        low, high = self.x
        return round(self.left + (self.right - self.left) * (x - low) / (high - low), 1)

    def up(self, y: float) -> float:
        """Return where a figure of the vertical axis is [px]."""
        low, high = self.y
        return round(self.bottom - PLOT_HEIGHT * (y - low) / (high - low), 1)

    def line(self, points: Sequence[Point], look: str) -> None:
        """Draw a line."""
        self.drawn.append((look, self._path(points)))

    def area(self, upper: Sequence[Point], lower: Sequence[Point], look: str) -> None:
        """Fill between two lines."""
        self.drawn.append((look, f"{self._path([*upper, *reversed(lower)])}Z"))

    def mark(self, kind: Kind, at: Point, radius: float) -> None:
        """Put a mark at a point."""
        self.marks.append((kind, self.across(at[0]), self.up(at[1]), radius))

    def _path(self, points: Sequence[Point]) -> str:
        return "M" + "L".join(f"{self.across(x):g} {self.up(y):g}" for x, y in points)

    def most_across(self, words: str) -> int:
        """Return how many ticks with such words have room under the chart."""
        return max(1, floor((self.right - self.left) / (room(words) + 10.0)))

    def _named(self) -> Iterator[Text]:
        """Yield the names of lines, one above the other where they would touch."""
        least = self.bottom + LEADING
        for end in sorted(self.ends, key=lambda end: end.at[1]):
            lines = _lines(end)
            foot = min(self.up(end.at[1]) + 4.0 + LEADING * (len(lines) - 1) / 2.0, least - LEADING)
            first = foot - LEADING * (len(lines) - 1)
            yield Text(self.across(end.at[0]) + 6.0, first, lines, end.look)
            least = first

    def svg(self, prefix: str, along: str, ticks: Sequence[Tick], up: Sequence[Tick]) -> str:
        """Return the chart with its axes, its ids under a prefix that no other chart of a page has."""
        return _TEMPLATES.get_template("chart.svg").render(
            chart=self, prefix=prefix, width=WIDTH, height=round(self.bottom + 48.0, 1), leading=LEADING, size=TEXT,
            heading=HEADING, along=along, ticks=[(self.across(at), words) for at, words in ticks],
            up=[(self.up(at), words) for at, words in up], ink=INK, soft=SOFT, limit=LIMIT,
            hatched=any(look == "hatch" for look, _ in self.drawn),
        )  # fmt: skip


def _lines(end: End) -> list[str]:
    return wrapped(end.words, END_WIDTH)

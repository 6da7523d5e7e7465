"""Sentences and figures in columns of plain text, for a printer or a screen of so many characters."""

from collections.abc import Iterator
from dataclasses import dataclass

from wcwidth import rjust, width, wrap

from service.api.pages.paper import NO_BREAK
from service.api.pages.words import ascii_only, isolated, strip_control_marks

_NARROW_NO_BREAK = "\u202f"


@dataclass(frozen=True)
class Columns:
    """So many columns of a printer that knows all characters, or ASCII alone; wide characters take two."""

    columns: int
    ascii: bool = False

    def plain(self, words: str) -> str:
        """Return words in characters that the printer may have."""
        return self._known(words).replace(NO_BREAK, " ")

    def _known(self, words: str) -> str:
        """Return words in such characters, but for the spaces that no line may end at."""
        parts = words.replace(_NARROW_NO_BREAK, NO_BREAK).split(NO_BREAK)
        return NO_BREAK.join(ascii_only(part) if self.ascii else strip_control_marks(part) for part in parts)

    def wrapped(self, words: str, first: str = "", rest: str = "") -> Iterator[str]:
        """Yield words in as many lines as they take, the first with something before it; a figure keeps its unit."""
        room = self.columns - len(rest)
        filler = "\u00b7" * (len(first) - len(rest))  # holds the place of what stands before the first line
        lines = self._lines(filler + words, room) or [filler]
        yield first + lines[0][len(filler) :]
        yield from (rest + line for line in lines[1:])

    def pair(self, name: str, text: str, first: str = "") -> Iterator[str]:
        """Yield name on the left, text on the right; on two lines where one is too narrow.

        first: stands before them, and as much room before further lines
        """
        left, right, room = self.plain(name), self.plain(text), self.columns - len(first)
        if width(left) + 1 + width(right) <= room:
            yield first + isolated(left) + " " * (room - width(left) - width(right)) + isolated(right)
            return
        lines = [*self._lines(name, room), *(rjust(line, room) for line in self._lines(text, room))]
        yield from (f"{' ' * len(first) if i else first}{line}" for i, line in enumerate(lines))

    def _lines(self, words: str, room: int) -> list[str]:
        return [line.replace(NO_BREAK, " ") for line in wrap(self._known(words), room)]

    def rule(self, title: str = "") -> str:
        """Return a line across, with a title in it."""
        words = self.plain(f"== {title.upper()} " if title else "")
        return words + "=" * (self.columns - width(words))

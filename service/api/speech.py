"""How numbers and moments read inside sentences: plainly, or in the manner of a place."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from functools import cached_property, lru_cache

from babel import Locale
from babel.dates import format_datetime
from babel.numbers import format_decimal, get_decimal_symbol

from service.api.words import ENGLISH, Language, counted_in_language, in_language

UNGROUPED = 1000.0
"""Below this no locale groups digits, and the decimal sign is all that differs (Unicode CLDR, digits latn)."""

_WHOLE = 1e15
"""From here on a float tells whole numbers no more apart."""


@dataclass(frozen=True)
class Speech:
    """A manner of writing numbers, moments and sentences.

    locale: None for the plain manner: a point, no groups, ISO 8601 dates
    zone: that moments are told in; None for their own offset
    language: of sentences
    """

    locale: Locale | None = None
    zone: tzinfo | None = None
    language: Language = ENGLISH

    def say(self, text: str) -> str:
        """Return a sentence, its {names} not filled in yet, in this language."""
        return text if self.language == ENGLISH else in_language(text, self.language)

    def counted(self, one: str, many: str, count: int) -> str:
        """Return the sentence about so many, its {names} not filled in yet, in this language."""
        return counted_in_language(one, many, count, self.language)

    @property
    def in_english(self) -> "Speech":
        """Return sentences in English, with numbers and moments that an English sentence is not misread with."""
        return replace(self, language=ENGLISH, locale=None)

    def fixed(self, number: float, decimals: int) -> str:
        """Return a number to some decimals."""
        return self._signed(f"{number:.{decimals}f}", number, decimals)

    def short(self, number: float) -> str:
        """Return a number to four digits; a whole one whole."""
        if number == round(number) and abs(number) < _WHOLE:
            return self._signed(f"{number:.0f}", number, 0)
        plain = f"{number:.4g}"
        return plain if "e" in plain else self._signed(plain, number, len(plain.partition(".")[2]))

    @cached_property
    def moment(self) -> Callable[[datetime], str]:
        """Return a moment, to the minute or as the place writes it; the same one is written once."""
        return lru_cache(maxsize=64)(self._moment)

    def _moment(self, moment: datetime) -> str:
        here = self.here(moment)
        if self.locale is None:
            return f"{here:%Y-%m-%d %H:%M}"
        return format_datetime(here, "medium", tzinfo=here.tzinfo, locale=self.locale)

    def here(self, moment: datetime) -> datetime:
        """Return the same moment on the clock of the place."""
        return moment if self.zone is None else moment.astimezone(self.zone)

    def _signed(self, plain: str, number: float, decimals: int) -> str:
        if self.locale is None:
            return plain
        if abs(number) < UNGROUPED - 1.0:
            return plain.replace(".", self._point)
        pattern = f"#,##0.{'0' * decimals}" if decimals else "#,##0"
        return format_decimal(float(plain), pattern, locale=self.locale)

    @cached_property
    def _point(self) -> str:
        return get_decimal_symbol(self.locale)


PLAIN = Speech()

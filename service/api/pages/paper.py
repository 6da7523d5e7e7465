"""Figures, moments and sentences as they stand on paper: kilograms, gallons and clock times, a minus for a minus."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from math import ceil, floor
from typing import NamedTuple

from babel.dates import format_skeleton, format_time
from babel.numbers import format_currency
from markupsafe import Markup, escape

from service.api.answers import SHOWN_DIGITS, SHOWN_UNITS, Answer
from service.api.pages.words import strip_control_marks
from service.api.words import REVIEWED
from service.errors import Term
from service.money import Money, to_coins
from service.notes import Value
from service.science.units import Quantity

MINUS, NO_BREAK = "\u2212", "\u00a0"
_GALLON_OZ = 128
"""US fluid ounces in a gallon; NIST Handbook 44, appendix C."""


class _Larger(NamedTuple):
    """A unit of a thousand smaller ones, told from so many on, with every digit that these show."""

    unit: str
    from_: float
    decimals: int


_LARGER = {"g": _Larger("kg", 1000.0, 4), "ml": _Larger("l", 10_000.0, 3)}
"""No jug of a bar shows ten litres in millilitres."""
_TO_THE_SECOND_S = 600.0
"""Shorter durations are told to the second, longer ones to the minute."""
_TO_THE_MINUTE_S = 48 * 3600.0
"""From here on they are told to the hour."""


@dataclass(frozen=True)
class Shown:
    """A figure as people read it, apart from its unit where it has one."""

    number: str
    unit: str = ""

    def __str__(self) -> str:
        return f"{self.number}{NO_BREAK}{self.unit}" if self.unit else self.number


class Paper:
    """Writes what stands on paper, in the units, the manner and the language of an answer."""

    def __init__(self, answer: Answer) -> None:
        self.answer, self.speech = answer, answer.speech

    def say(self, sentence: str, /, **params: Value | Shown) -> str:
        """Return a sentence of the catalogue, filled in."""
        return self.filled(self.speech.say(sentence), params)

    def many(self, one: str, many: str, count: int, /, **params: Value | Shown) -> str:
        """Return a sentence of the catalogue that counts something, filled in."""
        return self.filled(self.speech.counted(one, many, count), params)

    def set_out(self, sentence: str, /, **figures: Value | Shown) -> Markup:
        """Return a sentence of the catalogue as markup, in which the figures stand out, and words do not."""
        stand_out = {
            name: self.figure(value) if isinstance(value, str) else _stands_out(self.figure(value))
            for name, value in figures.items()
        }
        return Markup(escape(self.speech.say(sentence))).format(**stand_out)  # noqa: S704 - escaped

    def filled(self, sentence: str, params: Mapping[str, Value | Shown]) -> str:
        """Return a sentence that is in the language already, filled in; paper has the subscript of CO₂."""
        sentence = sentence.replace("CO2", "CO\u2082")
        return sentence.format(**{name: self.show(value) for name, value in params.items()}) if params else sentence

    def warned(self, sentence: str, params: Mapping[str, Value | Shown]) -> str:
        """Return a danger, in English too where no bartender has reviewed the language yet."""
        said = self.filled(self.speech.say(sentence), params)
        if self.speech.language in REVIEWED:
            return said
        english = Paper(Answer(self.answer.system, self.speech.in_english)).filled(sentence, params)
        return said if said == english else f"{said} / {english}"

    def show(self, value: Value | Shown) -> str:
        """Return a value as it stands in a sentence."""
        return str(self.figure(value))

    def figure(self, value: Value | Shown, *, weighed: bool = False) -> Shown:
        """Return a value apart from its unit.

        weighed: it stands beside a scale, which shows grams; kilograms would be misread there
        """
        if isinstance(value, Shown):
            return value
        if isinstance(value, str):
            return Shown(strip_control_marks(self._worded(value)))
        if isinstance(value, datetime):
            return Shown(self.moment(value))
        if not isinstance(value, Quantity) or value.kind == "acidity":
            return Shown(_minus(self.answer.show(value)))
        return self._quantity(value, weighed=weighed)

    def _worded(self, value: str) -> str:
        """Return a name as it is, and words of ours with the subscript of CO\u2082."""
        told = self.answer.show(value)
        return told.replace("CO2", "CO\u2082") if isinstance(value, Term) else told

    def _quantity(self, value: Quantity, *, weighed: bool) -> Shown:
        if value.kind == "duration":
            return Shown(self.clock(value.value).replace(" ", NO_BREAK))
        number, unit = self.answer.rounded(value)
        if unit == "oz" and number >= _GALLON_OZ:
            return Shown(_gallons(number, value.shown))
        if unit in _LARGER and number >= _LARGER[unit].from_ and not weighed:
            larger = _LARGER[unit]
            return Shown(self._trimmed(number / 1000.0, larger.decimals), larger.unit)
        near = unit in ("m", "ft") and 0.0 < abs(number) < 100.0
        return Shown(_minus(self.speech.fixed(number, SHOWN_DIGITS[unit] + near)), SHOWN_UNITS.get(unit, unit))

    def _trimmed(self, number: float, decimals: int) -> str:
        """Return a number with the decimals that count, at most so many."""
        return self.speech.fixed(number, len(f"{number:.{decimals}f}".rstrip("0").partition(".")[2]))

    def time(self, moment: datetime) -> str:
        """Return the time of day of a moment, on the clock of the place."""
        here = self.speech.here(moment)
        if self.speech.locale is None:
            return f"{here:%H:%M}"
        return format_time(here, "short", tzinfo=here.tzinfo, locale=self.speech.locale)

    def day(self, moment: datetime) -> str:
        """Return the day of a moment, without its year."""
        here = self.speech.here(moment)
        if self.speech.locale is None:
            return f"{here:%m-%d}"
        return format_skeleton("MMMd", here, tzinfo=here.tzinfo, locale=self.speech.locale)

    def moment(self, moment: datetime) -> str:
        """Return a moment to the minute, with its year."""
        here = self.speech.here(moment)
        if self.speech.locale is None:
            return f"{here:%Y-%m-%d %H:%M}"
        return f"{format_skeleton('yMMMd', here, tzinfo=here.tzinfo, locale=self.speech.locale)} {self.time(moment)}"

    def money(self, money: Money) -> str:
        """Return an amount to the currency's smallest coin, half to even."""
        amount = to_coins(money.amount, money.currency)
        if self.speech.locale is None:
            return f"{amount}{NO_BREAK}{money.currency}"
        return format_currency(amount, money.currency, locale=self.speech.locale)

    @staticmethod
    def clock(seconds: float, *, up: bool = False) -> str:
        """Return a duration as people say it; downwards unless told, so that a timer rings early, never late."""
        step = 1 if seconds < _TO_THE_SECOND_S else 60 if seconds < _TO_THE_MINUTE_S else 3600
        minutes, rest = divmod((ceil if up else floor)(seconds / step) * step, 60)
        hours, minutes = divmod(minutes, 60)
        if step == 3600:
            return f"{hours // 24} d" + (f" {hours % 24} h" if hours % 24 else "")
        if hours:
            return f"{hours} h {minutes:02d} min"
        if minutes:
            return f"{minutes} min" + (f" {rest:02d} s" if rest else "")
        return f"{rest} s"


def _stands_out(figure: Shown) -> Markup:
    unit = Markup(' <span class="unit">{}</span>').format(figure.unit) if figure.unit else ""
    return Markup("<b><bdi>{}</bdi>{}</b>").format(figure.number, unit)


def _gallons(ounces: float, shown: str) -> str:
    """Return US fluid ounces as gallons and whole ounces; the last one goes where the amount is safe."""
    whole = floor(ounces) if shown == "down" else ceil(ounces) if shown == "up" else round(ounces)
    gallons, rest = divmod(whole, _GALLON_OZ)
    return f"{gallons} gal {rest} oz" if rest else f"{gallons} gal"


def _minus(number: str) -> str:
    return MINUS + number[1:] if number[:1] == "-" else number

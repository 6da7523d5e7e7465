"""Writes the parts of answers in the caller's units: quantities, bands, sentences."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from math import ceil, floor
from typing import Any

from service.api.speech import PLAIN, Speech
from service.api.words import REVIEWED
from service.errors import AND_MORE, Fact, Fault, Measure, Names, Nearest, Offer, Term
from service.limits.requests import MOST_FAULTS
from service.money import Money, Sum
from service.notes import Value
from service.science.acids import as_g_per_l
from service.science.band import Band
from service.science.units import ANSWER_UNITS, Quantity, UnitSystem, from_base

SHOWN_DIGITS = {
    "ml": 0,
    "oz": 2,
    "g": 1,
    "bar": 2,
    "psi": 1,
    "c": 1,
    "f": 0,
    "min": 0,
    "g/l": 1,
    "volumes": 2,
    "m": 0,
    "ft": 0,
    "meq/l": 0,
    "g/ml": 4,
}
"""Decimals in sentences; the numbers of an answer are never rounded."""
AS_CITRIC = "{meq} ({citric} g/l as citric)"
"""An acidity, and its grams, in which a bar thinks."""
_FAR = 100.0
"""From here on a length is an altitude, which no decimal tells more of; a line is shorter."""
SHOWN_UNITS = {"ml": "ml", "oz": "oz", "c": "°C", "f": "°F", "volumes": "volumes"}


class Answer:
    """Writes quantities in one unit system, and sentences in one manner of speech; one per request or venue.

    omit: names of lists that the answer is sent without
    """

    def __init__(self, system: UnitSystem, speech: Speech = PLAIN, omit: frozenset[str] = frozenset()) -> None:
        self.system: UnitSystem = system
        self.units, self.speech, self.omit = ANSWER_UNITS[system], speech, omit

    def q(self, kind: str, value: float) -> dict[str, Any]:
        """Write a quantity from its base unit."""
        unit = self.units[kind]
        return {"value": tidy(from_base(kind, value, unit)), "unit": unit}

    def measured(self, value: Quantity | Measure) -> dict[str, Any]:
        """Write a quantity in the caller's units, or a number in a unit of its own."""
        if isinstance(value, Quantity):
            return self.q(value.kind, value.value)
        return {"value": tidy(value.value), "unit": value.unit}

    def money(self, value: Money) -> dict[str, Any]:
        """Write an amount of money, every decimal as it is."""
        return {"amount": f"{value.amount:f}", "currency": value.currency}

    def band(self, kind: str, band: Band) -> dict[str, Any]:
        """Write a band of quantities; kind "number" has no unit."""
        if kind == "number":
            return {"low": tidy(band.low), "typical": tidy(band.typical), "high": tidy(band.high)}
        unit = self.units[kind]
        low, typical, high = [tidy(from_base(kind, v, unit)) for v in (band.low, band.typical, band.high)]
        return {"low": low, "typical": typical, "high": high, "unit": unit}

    def show(self, value: Value) -> str:
        """Return a value as people read it, with no more digits than the science bears."""
        if isinstance(value, str):
            return value if type(value) is str else self._worded(value)
        if isinstance(value, datetime):
            return self.speech.moment(value)
        if isinstance(value, Measure):
            return f"{self.speech.short(value.value)} {value.unit}"
        if not isinstance(value, Quantity):
            return self.speech.short(value)
        if value.kind == "duration":
            return _clock(value.value, self.speech)
        return shown(*self.rounded(value), self.speech)

    def _worded(self, value: str) -> str:
        """Words of ours in this language; names as they are."""
        if isinstance(value, Term):
            return self.sentence(value.text, value.params)
        if isinstance(value, Sum):
            return f"{self.speech.fixed(float(value.money.amount), value.decimals)} {value.money.currency}"
        if not isinstance(value, Names):
            return value
        named = ", ".join([self.show(each) for each in value.names])
        return self.sentence(AND_MORE, {"names": named, "count": value.more}) if value.more else named

    def moment(self, moment: datetime) -> str:
        """Return a moment as answers have it, on the clock of the place, to the second."""
        return self.speech.here(moment).isoformat(timespec="seconds")

    def rounded(self, value: Quantity) -> tuple[float, str]:
        """Return the number in the caller's unit; to the digits of sentences where it is shown on its safe side."""
        unit = self.units[value.kind]
        number = from_base(value.kind, value.value, unit)
        if value.shown == "nearest":
            return number, unit
        scale = 10.0 ** SHOWN_DIGITS[unit]
        return (floor if value.shown == "down" else ceil)(round(number * scale, 6)) / scale, unit

    def sentence(self, text: str, params: Mapping[str, Value]) -> str:
        """Return the text with its {names} filled in."""
        return self.speech.say(text).format(**{name: self.show(value) for name, value in params.items()})

    def warned(self, text: str, params: Mapping[str, Value]) -> str:
        """Return a danger or a refusal, in English too where no bartender has reviewed the language yet."""
        return self.warned_of([(text, params)])

    def warned_of(self, told: Sequence[tuple[str, Mapping[str, Value]]]) -> str:
        """Return several, each once, in the language and then in English."""
        said = self._joined(told)
        if self.speech.language in REVIEWED:
            return said
        english = Answer(self.system, self.speech.in_english)._joined(told)
        return said if said == english else f"{said} / {english}"

    def _joined(self, told: Sequence[tuple[str, Mapping[str, Value]]]) -> str:
        return " ".join(dict.fromkeys(self.sentence(text, params) for text, params in told))

    def counted_fields(self, count: int) -> str:
        """Return how many fields are not valid, as a sentence; beyond those that are told nobody counts."""
        if count > MOST_FAULTS:
            return self.speech.say("More than {most} fields are not valid.").format(most=self.show(MOST_FAULTS))
        said = self.speech.counted("{count} field is not valid.", "{count} fields are not valid.", count)
        return said.format(count=self.show(count))

    def wire(self, value: Any) -> Any:
        """Write a value of the core as JSON: a Quantity as an object, everything else as it is."""
        if isinstance(value, Quantity):
            return self.q(value.kind, value.value)
        return tidy(value) if isinstance(value, float) else value

    def with_params(self, text: str, params: Mapping[str, Value]) -> dict[str, Any]:
        """Write a refusal, or a way out of it, with its parameters."""
        return {"text": self.warned(text, params), "params": self.params(params.items())}

    def params(self, params: Iterable[tuple[str, Value]]) -> list[dict[str, Any]]:
        """Write the parameters of a sentence: a name with a text, and a quantity or number where it is one."""
        return [{"name": name, "text": self.show(value), **self.figure(value)} for name, value in params]

    def figure(self, value: Value) -> dict[str, Any]:
        """Write a value as a number, with its unit where it has one; nothing of a text or a moment."""
        if isinstance(value, str | datetime):
            return {}
        return self.measured(value) if isinstance(value, Quantity | Measure) else {"value": tidy(float(value))}

    def fault(self, fault: Fault, where: str = "body", *, refused: bool = True) -> dict[str, Any]:
        """Write one entry of a problem's errors. refused: by physics or safety; else a field is amiss, told once"""
        params = dict(fault.params)
        text = self.warned(fault.text, params) if refused else self.sentence(fault.text, params)
        return {
            "in": where,
            "pointer": fault.pointer,
            "code": fault.code,
            "text": text,
            "params": self.params(params.items()),
        }

    def fact(self, fact: Fact) -> dict[str, Any]:
        """Write one entry of a problem's facts."""
        return {"name": fact.name, **self.figure(fact.value)}

    def nearest(self, nearest: Sequence[Nearest]) -> list[dict[str, Any]]:
        """Write the values that would work, rounded as sentences show them, so that the shown ones work when posted."""
        return [{"pointer": n.pointer, "value": self._offered(n.value)} for n in nearest]

    def offer(self, offer: Offer, nearest: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
        """Write one of several ways out of a refusal. nearest: its values, once they were tried out"""
        return {"code": offer.code, **self.with_params(offer.text, dict(offer.params)), "nearest": list(nearest)}

    def _offered(self, value: Any) -> Any:
        if not isinstance(value, Quantity):
            return self.wire(value)
        number, unit = self.rounded(value)
        return {"value": tidy(number), "unit": unit}


def filled(text: str, params: Sequence[Mapping[str, Any]]) -> str:
    """Return a sentence with its parameters, as they are sent, filled in."""
    return text.format(**{one["name"]: one["text"] for one in params})


def shown(number: float, unit: str, speech: Speech = PLAIN) -> str:
    """Return a number in one of the units of answers as people read it, acidity also in grams, which bars think in."""
    near = unit in ("m", "ft") and 0.0 < abs(number) < _FAR
    said = f"{speech.fixed(number, SHOWN_DIGITS[unit] + near)} {SHOWN_UNITS.get(unit, unit)}"
    if unit != "meq/l":
        return said
    return speech.say(AS_CITRIC).format(meq=said, citric=speech.fixed(as_g_per_l(number, "citric"), 1))


def _clock(seconds: float, speech: Speech) -> str:
    """Return a duration as people say it: seconds below two minutes, then minutes, hours with their minutes, days."""
    if seconds < 120.0:
        return f"{speech.fixed(seconds, 0)} s"
    if seconds < 7200.0:
        return f"{speech.fixed(seconds / 60.0, 0)} min"
    if seconds < 172800.0:
        hours, minutes = divmod(round(seconds / 60.0), 60)
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    return f"{speech.short(float(f'{seconds / 86400.0:.3g}'))} d"


def titratable_acidity(meq_per_l: float) -> dict[str, Any]:
    """Write a titratable acidity, to pH 8.2, in three ways."""
    return {
        "as_citric": {"value": tidy(as_g_per_l(meq_per_l, "citric")), "unit": "g/l", "expressed_as": "citric"},
        "as_tartaric": {"value": tidy(as_g_per_l(meq_per_l, "tartaric")), "unit": "g/l", "expressed_as": "tartaric"},
        "meq_per_l": tidy(meq_per_l),
    }


def tidy(value: float) -> float:
    """Return twelve significant digits: the noise of binary fractions, far below any measurement, is dropped."""
    return float(f"{value:.12g}") + 0.0  # turns minus zero into zero

"""Moments and places on the wire: RFC 3339 with an offset, never the clock of the service; locales and time zones."""

import re
from datetime import date, datetime
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from babel import Locale, UnknownLocaleError
from marshmallow import fields

from service.api.quantities import Answered, Text, fault
from service.api.speech import Speech
from service.api.words import ENGLISH, LANGUAGES, Language

_RFC_3339 = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,9})?([Zz]|[+-][0-9]{2}:[0-9]{2})"
)
FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Years that may be stated; bounds of the service, so that no sum of times leaves the calendar."""
IN_YEARS = "Must be in the years {first} to {last}."
_FULL_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_SCHEMA = {"type": "string", "format": "date-time", "maxLength": 40}


class Moment(fields.Field[datetime]):
    """A date and time with its offset; loads to an aware datetime, whole microseconds of it.

    Digits of a second's fraction beyond the sixth are dropped: no answer is as fine as that.
    """

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> datetime:
        text = 'Must be an RFC 3339 date and time with an offset, such as "2026-11-28T14:00:00+01:00".'
        if not isinstance(value, str) or not _RFC_3339.fullmatch(value):
            raise fault("not-a-moment", text)
        try:
            moment = datetime.fromisoformat(value.upper())
        except ValueError:
            raise fault("not-a-moment", text) from None
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise fault("out-of-range", IN_YEARS, first=str(FIRST_YEAR), last=str(LAST_YEAR))
        return moment

    def openapi(self) -> dict[str, Any]:
        return _SCHEMA


class Day(fields.Field[date]):
    """A date, RFC 3339 full-date."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> date:
        text = 'Must be an RFC 3339 date such as "2026-11-28".'
        if not isinstance(value, str) or not _FULL_DATE.fullmatch(value):
            raise fault("not-a-date", text)
        try:
            day = date.fromisoformat(value)
        except ValueError:
            raise fault("not-a-date", text) from None
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise fault("out-of-range", IN_YEARS, first=str(FIRST_YEAR), last=str(LAST_YEAR))
        return day

    def openapi(self) -> dict[str, Any]:
        return {"type": "string", "format": "date", "maxLength": 10}


def moment(**kwargs: Any) -> Answered:
    """Return the field of a date and time in an answer."""
    return Answered(_SCHEMA, **kwargs)


def written(moment: datetime) -> str:
    """Write a date and time of an answer, in its own offset, to the second."""
    return moment.isoformat(timespec="seconds")


_TAG = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}")
_ZONE = re.compile(r"[A-Za-z0-9_+-]{1,30}(/[A-Za-z0-9_+-]{1,30}){0,2}")


class LocaleField(Text):
    """A BCP 47 tag that Unicode CLDR knows."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(longest=35, shortest=2, **kwargs)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        tag = super()._deserialize(value, attr, data, **kwargs)
        try:
            Locale.parse(_matching(_TAG, tag), sep="-")
        except (ValueError, UnknownLocaleError):
            raise fault(
                "unknown-locale", ('There is no such locale. Give a BCP 47 tag such as "en-GB" or "de".')
            ) from None
        return tag


class TimeZoneField(Text):
    """A name of the IANA time zone database."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(longest=64, **kwargs)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        name = super()._deserialize(value, attr, data, **kwargs)
        try:
            ZoneInfo(_matching(_ZONE, name))
        except (ValueError, ZoneInfoNotFoundError, OSError):
            raise fault(
                "unknown-time-zone", ('There is no such time zone. Give an IANA name such as "Europe/Lisbon".')
            ) from None
        return name


def _matching(pattern: re.Pattern[str], text: str) -> str:
    """Return a text that has the form of a name.

    raises: ValueError where it has not
    """
    if not pattern.fullmatch(text):
        raise ValueError(text)
    return text


_SPOKEN: dict[str, Language] = {one: one for one in LANGUAGES}


@lru_cache(maxsize=64)
def speech_of(locale: str | None, time_zone: str | None, language: Language = ENGLISH) -> Speech:
    """Return the manner of a place, by names that were checked when they were read.

    language: of the caller, where the locale's own is none of those that there are
    """
    known = None if locale is None else Locale.parse(locale, sep="-")
    spoken = language if known is None else _SPOKEN.get(known.language, language)
    return Speech(known, None if time_zone is None else ZoneInfo(time_zone), spoken)

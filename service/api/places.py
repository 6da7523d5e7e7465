"""Locales and time zones on the wire."""

import re
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from babel import Locale, UnknownLocaleError

from service.api.quantities import Text, fault
from service.api.speech import Speech
from service.api.words import ENGLISH, LANGUAGES, Language

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
    """raises: ValueError"""
    if not pattern.fullmatch(text):
        raise ValueError(text)
    return text


@lru_cache(maxsize=64)
def speech_of(locale: str | None, time_zone: str | None, language: Language = ENGLISH) -> Speech:
    """Return the manner of a place, by names that were checked when they were read.

    language: of the caller, where the locale's own is none of those that there are
    """
    known = None if locale is None else Locale.parse(locale, sep="-")
    spoken = next((one for one in LANGUAGES if known is not None and known.language == one), language)
    return Speech(known, None if time_zone is None else ZoneInfo(time_zone), spoken)

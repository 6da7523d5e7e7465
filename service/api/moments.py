"""Points in time on the wire: RFC 3339 with an offset, never the clock of the service."""

import re
from datetime import date, datetime
from typing import Any

from marshmallow import fields

from service.api.quantities import Answered, fault

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

    What a second's fraction has beyond six digits is dropped: no answer is as fine as that.
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
    """A date and time in an answer."""
    return Answered(_SCHEMA, **kwargs)


def written(moment: datetime) -> str:
    """A date and time in an answer, in its own offset, to the second."""
    return moment.isoformat(timespec="seconds")

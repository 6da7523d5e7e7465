"""Until acids are declared."""

from collections.abc import Iterable, Mapping
from typing import Any

from marshmallow import ValidationError

from service.api.wire.asked import messages_of
from service.drink import each_percent, each_share, form_of_the_acid, once_each
from service.errors import Fault


def _check(faults: Iterable[Fault]) -> None:
    if found := messages_of(faults):
        raise ValidationError(found)


def check_form(sent: Mapping[str, Any]) -> None:
    _check(form_of_the_acid(sent))


def check_percents(acids: object) -> None:
    _check(each_percent(acids))


def check_shares(acids: object, *, field: str = "acids") -> None:
    _check(each_share(acids, at=f"/{field}"))


def check_once(acids: object, *, field: str) -> None:
    _check(once_each(acids, at=f"/{field}"))

"""Lists whose items are answered each on its own."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.api.quantities import Coded
from service.api.wire.asked import messages_of
from service.listed import lines_in, too_many_lines

__all__ = ["MOST_ITEMS", "LoadedAlone", "check_lines", "check_listed", "lines_in"]

MOST_ITEMS = 100
"""Items of such a list; a bound of the service."""


class LoadedAlone(fields.Nested):
    """A part of a request that is loaded on its own, so that its faults refuse nothing else."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        return value


def check_listed(items: object, *, lines: tuple[str, ...], most_lines: int) -> None:
    """Each id stands once, and the lists that are counted as lines come to no more than the service bears.

    items: as they were sent
    lines: names of lists, wherever in an item they stand
    raises: ValidationError
    """
    if not isinstance(items, list) or len(items) > MOST_ITEMS:
        return  # the field says so itself
    ids = [item.get("id") if isinstance(item, Mapping) else None for item in items]
    wrong: dict[int, Any] = {
        i: {"id": [Coded("duplicate", "Each id stands once in a list.")]}
        for i, name in enumerate(ids)
        if isinstance(name, str) and name in ids[:i]
    }
    if wrong:
        raise ValidationError({"items": wrong})
    check_lines(items, lines=lines, most_lines=most_lines, name="items")


def check_lines(sent: object, *, lines: tuple[str, ...], most_lines: int, name: str) -> None:
    """Lists that are counted as lines come to no more than the service bears.

    sent: what holds them, as it was sent, in the field of that name
    raises: ValidationError
    """
    if found := messages_of(too_many_lines(sent, lines=lines, most_lines=most_lines, name=name)):
        raise ValidationError(found)

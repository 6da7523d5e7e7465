"""Lists whose items are answered each on its own."""

from collections.abc import Iterable
from typing import Any

from marshmallow import ValidationError, fields

from service.api.wire.asked import messages_of, request_schema
from service.errors import Fault
from service.listed import MOST_ITEMS, lines_in, listed, too_many_lines

__all__ = ["MOST_ITEMS", "LoadedAlone", "check_lines", "check_listed", "lines_in", "loaded_alone"]


class LoadedAlone(fields.Nested):
    """A part of a request that is loaded on its own, so that its faults refuse nothing else."""

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        return value


def loaded_alone(shape: Any) -> type[LoadedAlone]:
    """Return the field of a declared object that is loaded on its own."""

    class Alone(LoadedAlone):
        def __init__(self, **kwargs: Any) -> None:
            super().__init__(request_schema(shape), **kwargs)

    return Alone


def check_listed(items: object, *, lines: tuple[str, ...], most_lines: int) -> None:
    _check(listed(items, lines=lines, most_lines=most_lines))


def check_lines(sent: object, *, lines: tuple[str, ...], most_lines: int, name: str) -> None:
    _check(too_many_lines(sent, lines=lines, most_lines=most_lines, name=name))


def _check(faults: Iterable[Fault]) -> None:
    if found := messages_of(faults):
        raise ValidationError(found)

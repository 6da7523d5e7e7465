"""Lists whose items are answered each on its own."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from service.api.quantities import Coded
from service.limits.requests import MOST_ITEMS


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
    count = lines_in(sent, lines)
    if count > most_lines:
        text = f"{', '.join(lines)} may come to {most_lines} in all; these come to {count}."
        raise ValidationError({name: [Coded("too-many-lines", text)]})


def lines_in(sent: Any, names: tuple[str, ...]) -> int:
    """Of the lists of these names, wherever within they stand."""
    count = 0
    left: list[Any] = [[sent]]
    while left:
        node = left.pop()
        if isinstance(node, dict):
            count += sum([len(node[name]) for name in names if isinstance(node.get(name), list)])
            node = node.values()
        left += [inner for inner in node if isinstance(inner, (dict, list))]
    return count

"""Lists whose items are answered each on its own, or that are bounded together wherever in a request they stand."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.errors import Fault, Names
from service.limits.requests import MOST_ITEMS


def listed(items: object, *, lines: tuple[str, ...], most_lines: int, name: str = "items") -> Iterator[Fault]:
    """Find items, as they were sent, whose id stands twice; or else, that they hold more lines than the service bears.

    lines: names of lists, wherever in an item they stand; name: of the field that holds the items
    """
    if not isinstance(items, list) or len(items) > MOST_ITEMS:
        return  # the field says so itself
    twice = list(repeated(named(items, "id")))
    for i in twice:
        yield Fault(f"/{name}/{i}/id", "duplicate", "Each id stands once in a list.")
    if not twice:
        yield from too_many_lines(items, lines=lines, most_lines=most_lines, name=name)


def repeated(values: Sequence[object]) -> Iterator[int]:
    """Yield the place of each value that stands further up already; None stands for what is not told apart."""
    return (i for i, value in enumerate(values) if value is not None and value in values[:i])


def named(items: Sequence[object], field: str) -> list[str | None]:
    """Return the text of a field in each item, as it was sent; None where an item has no such text."""
    found = (item.get(field) if isinstance(item, Mapping) else None for item in items)
    return [one if isinstance(one, str) else None for one in found]


def too_many_lines(sent: object, *, lines: tuple[str, ...], most_lines: int, name: str) -> Iterator[Fault]:
    """Find lists, counted as lines, that come to more than the service bears.

    sent: what holds them, as it was sent, in the field of that name
    lines: names of lists, wherever within they stand
    """
    count = lines_in(sent, lines)
    if count > most_lines:
        text = "{lists} may come to {most} in all; these come to {count}."
        params = (("lists", Names(lines)), ("most", float(most_lines)), ("count", float(count)))
        yield Fault(f"/{name}", "too-many-lines", text, params)


def lines_in(sent: Any, names: tuple[str, ...]) -> int:
    """Count the items of the lists of these names, wherever within they stand."""
    count = 0
    left: list[Any] = [[sent]]
    while left:
        node = left.pop()
        if isinstance(node, dict):
            count += sum([len(node[name]) for name in names if isinstance(node.get(name), list)])
            node = node.values()
        left += [inner for inner in node if isinstance(inner, (dict, list))]
    return count

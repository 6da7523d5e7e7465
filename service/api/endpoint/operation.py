"""What the router, the parser and the OpenAPI document need to know of an operation."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from service.api.answers import Answer
from service.api.endpoint.schemas import Open, Request
from service.notes import Notes

Body = dict[str, Any]
MEDIA_TYPES = {
    "json": "application/json",
    "html": "text/html",
    "text": "text/plain",
    "csv": "text/csv",
    "svg": "image/svg+xml",
    "ndjson": "application/x-ndjson",
}


View = Callable[[Body, Answer, Notes], Body]
Form = Callable[[Body, Mapping[str, str]], bytes | str]


@dataclass(frozen=True)
class Parts:
    """An answer that is written while it is computed.

    items: one after the other; end: what is known once they are all computed
    """

    items: Iterable[Body]
    end: Callable[[], Body]


PartsView = Callable[[Body, Answer, Notes], Parts]
Stream = Callable[[Parts], Iterator[bytes]]


@dataclass(frozen=True)
class Operation:
    """One operation: what the router, the parser and the OpenAPI document need to know of it.

    view: of what is asked beside the fields that every request may hold
    forms: further forms of the answer beside JSON, each a function of the answer and the query
    views: of a form that shows more than the JSON answer holds; its body is that answer and more
    parts, streams: the answer in parts, and forms that are sent part by part; what is refused is so before the first
    tried: refuses what the view refuses, for less; where a refusal's offer is tried out
    headers: of a form, beside those that every answer has
    pressure: its answers are about vessels under pressure, and say what holds for all such work
    query: names of query parameters with their OpenAPI schema
    """

    path: str
    operation_id: str
    tag: str
    summary: str
    description: str
    request: Request
    answer: type[Open]
    view: View
    forms: Mapping[str, Form] = field(default_factory=dict)
    views: Mapping[str, View] = field(default_factory=dict)
    parts: PartsView | None = None
    streams: Mapping[str, Stream] = field(default_factory=dict)
    tried: View | None = None
    headers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    query: Mapping[str, Body] = field(default_factory=dict)
    pressure: bool = False

    @property
    def further_forms(self) -> tuple[str, ...]:
        """All but JSON."""
        return (*self.forms, *self.streams)


@dataclass(frozen=True)
class Reference:
    """A table that is read with GET and is the same for as long as the process lives.

    read: what the answer holds beside the model; its rows under items
    tag: under which the document has it
    open_to_all: no key is asked for, whatever the deployment
    """

    path: str
    operation_id: str
    summary: str
    description: str
    answer: type[Open]
    read: Callable[[], Body]
    forms: Mapping[str, Form] = field(default_factory=dict)
    query: Mapping[str, Body] = field(default_factory=dict)
    tag: str = "references"
    open_to_all: bool = False

    @property
    def further_forms(self) -> tuple[str, ...]:
        """All but JSON."""
        return tuple(self.forms)

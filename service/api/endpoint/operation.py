"""Operations and references, described once for the router, the parser and the OpenAPI document."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Generic, Protocol, TypeVar

import orjson
from marshmallow import Schema

from service import MODEL, request
from service.api import wire
from service.api.answers import Answer
from service.api.speech import Speech
from service.api.words import ENGLISH, Language
from service.notes import Notes

Body = dict[str, Any]
MEDIA_TYPES = {
    "json": "application/json",
    "html": "text/html",
    "text": "text/plain",
    "csv": "text/csv",
    "svg": "image/svg+xml",
    "ndjson": "application/x-ndjson",
    "ics": "text/calendar",
}


class Parts(Protocol):
    """An answer that is written while it is computed."""

    @property
    def items(self) -> Iterator[Body]:
        """The items, one after the other."""
        ...

    def end(self) -> Body:
        """Return the rest of the answer, known once all items are computed."""
        ...


Stream = Callable[[Parts], Iterator[bytes]]


A = TypeVar("A")
Asked = TypeVar("Asked", bound=request.Request)


@dataclass(frozen=True)
class Served(Generic[Asked, A]):
    """An answer on its way into one of its forms.

    found: the answer of the core; body: the same as it is sent as JSON; query: parameters of the form
    notes: what was noted while it was found
    """

    asked: Asked
    found: A
    body: Body
    query: Mapping[str, str]
    answer: Answer
    notes: Notes


@dataclass(frozen=True)
class Each:
    """Items of an answer that are refused one by one: what a refusal offers is tried out on its item alone.

    sent, answered: names of the lists, in the request and in the answer, whose items belong together
    tries: how often in an answer; a refusal beyond that comes without an offer
    aside: fields of the request, and of an item, that no refusal of an item comes from
    """

    sent: str
    answered: str
    tries: int
    aside: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Operation(Generic[Asked, A]):
    """One operation, described once for the router, the parser and the OpenAPI document.

    request: declares what it is asked; the schema is derived
    answer: declares what it answers beside the envelope
    view: computes the answer
    write: writes it, where its declaration does not say all
    forms: further forms of the answer beside JSON
    parts, streams: the answer in parts, and forms that are sent part by part; what is refused is so before the first
    tried: refuses what the view refuses, for less; where a refusal's offer is tried out
    each: what of its answer is refused item by item
    headers: of a form, beside those that every answer has
    pressure: its answers are about vessels under pressure, and say what holds for all such work
    query: names of query parameters with their OpenAPI schema
    takes: form of the body; read: makes the request of a body that is no JSON, and of the query
    """

    path: str
    operation_id: str
    tag: str
    summary: str
    description: str
    request: type[Asked]
    answer: type[Any]
    view: Callable[[Asked, Notes], A]
    write: Callable[[A, Answer], Body] = wire.write
    forms: Mapping[str, Callable[[Served[Asked, A]], bytes | str]] = field(default_factory=dict)
    tried: Callable[[Asked, Notes], object] | None = None
    each: Each | None = None
    headers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    query: Mapping[str, Body] = field(default_factory=dict)
    pressure: bool = False
    parts: Callable[[A, Answer], Parts] | None = None
    streams: Mapping[str, Stream] = field(default_factory=dict)
    takes: str = "json"
    read: Callable[[bytes, Mapping[str, str]], Asked] | None = None

    @property
    def envelope(self) -> type[Schema]:
        """The schema that describes its answer, envelope included."""
        shape: Any = self.answer
        return wire.envelope_schema(shape)

    @cached_property
    def schema(self) -> Schema:
        """The schema that loads its requests."""
        shape: Any = self.request
        return wire.request_schema(shape)()

    @property
    def further_forms(self) -> tuple[str, ...]:
        """The forms of its answer beside JSON."""
        return (*self.forms, *self.streams)

    @property
    def offered(self) -> tuple[str, ...]:
        """Every form of the answer."""
        return ("json", *self.further_forms)


@dataclass(frozen=True)
class Reference:
    """A table that is read with GET and is the same for as long as the process lives, but for the language.

    answer: declares what it answers beside the model; its rows under items. Of a text its class
    read: reads it
    form: of the table; what is no JSON is read as text
    tag: under which the document has it
    open_to_all: no key is asked for, whatever the deployment
    """

    path: str
    operation_id: str
    summary: str
    description: str
    answer: type[Any]
    read: Callable[[], Any]
    query: Mapping[str, Body] = field(default_factory=dict)
    tag: str = "references"
    open_to_all: bool = False
    form: str = "json"

    @property
    def schema(self) -> type[Schema]:
        """The schema that describes its answer."""
        shape: Any = self.answer
        return wire.reference_schema(shape)

    def body(self, language: Language = ENGLISH) -> Body:
        """Return the answer as it is sent."""
        return {"model": MODEL, **wire.write(self.read(), Answer("metric", Speech(language=language)))}

    def sent(self, language: Language) -> bytes:
        """Return the table as it is sent; a text is the same in every language."""
        return orjson.dumps(self.body(language)) if self.form == "json" else str(self.read()).encode()

    @property
    def offered(self) -> tuple[str, ...]:
        """The one form that it has."""
        return (self.form,)

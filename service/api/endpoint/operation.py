"""What the router, the parser and the OpenAPI document need to know of an operation."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from service.api.answers import Answer
from service.api.endpoint.schemas import Open, Request
from service.notes import Notes

Body = dict[str, Any]
MEDIA_TYPES = {"json": "application/json", "text": "text/plain"}


@dataclass(frozen=True)
class Operation:
    """One operation: what the router, the parser and the OpenAPI document need to know of it.

    view: of what is asked beside the fields that every request may hold
    forms: further forms of the answer beside JSON, each a function of the answer and the query
    query: names of query parameters with their OpenAPI schema
    """

    path: str
    operation_id: str
    tag: str
    summary: str
    description: str
    request: Request
    answer: type[Open]
    view: Callable[[Body, Answer, Notes], Body]
    forms: Mapping[str, Callable[[Body, Mapping[str, str]], str]] = field(default_factory=dict)
    query: Mapping[str, Body] = field(default_factory=dict)

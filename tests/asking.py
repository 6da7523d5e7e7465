"""Requests as they are sent, whatever the form of their body."""

from typing import Any

from service.api.app import OPERATIONS
from service.api.endpoint import MEDIA_TYPES

TAKING_JSON = tuple(operation for operation in OPERATIONS if operation.takes == "json")


def as_sent(body: Any) -> dict[str, Any]:
    """Return what a test client is given for a body: a text is a table, all else is JSON."""
    return {"data": body.encode(), "content_type": MEDIA_TYPES["csv"]} if isinstance(body, str) else {"json": body}

"""One request, from bytes to answer: negotiate, parse, load, compute, write. Views hold only what differs."""

from service.api.endpoint.operation import MEDIA_TYPES, Body, Operation
from service.api.endpoint.schemas import Closed, ExactlyOne, Open, Part, Request, rule
from service.api.endpoint.serving import register

__all__ = ["MEDIA_TYPES", "Body", "Closed", "ExactlyOne", "Open", "Operation", "Part", "Request", "register", "rule"]

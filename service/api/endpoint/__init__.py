"""One request, from bytes to answer: negotiate, parse, load, compute, write. Views hold only what differs."""

from service.api.endpoint.operation import MEDIA_TYPES, Body, OldOperation, Operation, Parts, Reference, Served
from service.api.endpoint.parsing import DEEPEST, LARGEST_BODY
from service.api.endpoint.referring import register_reference
from service.api.endpoint.schemas import ExactlyOne, Open, Part, Request, StrictSchema, rule
from service.api.endpoint.serving import register

__all__ = [
    "DEEPEST",
    "LARGEST_BODY",
    "MEDIA_TYPES",
    "Body",
    "ExactlyOne",
    "OldOperation",
    "Open",
    "Operation",
    "Part",
    "Parts",
    "Reference",
    "Request",
    "Served",
    "StrictSchema",
    "register",
    "register_reference",
    "rule",
]

"""One request, from bytes to answer: negotiate, parse, load, compute, write. Views hold only what differs."""

from service.api.endpoint.kept import Kept
from service.api.endpoint.operation import MEDIA_TYPES, Body, Each, Operation, Parts, Reference, Served
from service.api.endpoint.serving import register, register_reference

__all__ = [
    "MEDIA_TYPES",
    "Body",
    "Each",
    "Kept",
    "Operation",
    "Parts",
    "Reference",
    "Served",
    "register",
    "register_reference",
]

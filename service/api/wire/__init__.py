"""From the declarations of the core to the wire: what loads a request, what writes an answer, what OpenAPI says."""

from service.api.wire.answered import answer_schema, enveloped, tabled, write, written_by
from service.api.wire.asked import Items, Object, RequestSchema, loaded_alone, object_of, request_schema
from service.api.wire.by_hand import Open, SentenceParameterSchema

__all__ = [
    "Items",
    "Object",
    "Open",
    "RequestSchema",
    "SentenceParameterSchema",
    "answer_schema",
    "enveloped",
    "loaded_alone",
    "object_of",
    "request_schema",
    "tabled",
    "write",
    "written_by",
]

"""Declarations of the core on the wire: requests loaded, answers written, and their OpenAPI schemas."""

from service.api.wire.answered import answer_schema, envelope_schema, reference_schema, write, written_by
from service.api.wire.asked import Items, Object, RequestSchema, loaded_alone, object_of, request_schema
from service.api.wire.by_hand import Open, SentenceParameterSchema

__all__ = [
    "Items",
    "Object",
    "Open",
    "RequestSchema",
    "SentenceParameterSchema",
    "answer_schema",
    "envelope_schema",
    "loaded_alone",
    "object_of",
    "reference_schema",
    "request_schema",
    "write",
    "written_by",
]

"""The OpenAPI 3.1 document, built from the operations and their schemas. `python -m service.api.openapi` prints it.

The service answers it as it is committed: building it takes as long as half of the rest of a start.
"""

import json
import warnings
from inspect import cleandoc
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import fields

from service.api.endpoint import Operation, Reference
from service.api.listing import lists
from service.api.openapi import fixed, problem_types
from service.api.openapi.paths import example, get, post
from service.api.quantities import quantity_components
from service.api.wire import Items, RequestSchema
from service.declared import shape_of

__all__ = ["document", "example", "render"]


def _name(schema: Any) -> str:
    cls = schema if isinstance(schema, type) else type(schema)
    return str(cls.__name__).removesuffix("Schema")


def _properties(self: Any, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
    """Return the schema of a field; our own fields describe themselves."""
    describe = getattr(field, "openapi", dict)
    return dict(describe())


def _lists(self: Any, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
    if isinstance(field, Items):
        return field.bounds()
    return {"maxItems": 1000} if isinstance(field, fields.List) else {}


def document(operations: tuple[Operation[Any, Any], ...], references: tuple[Reference, ...]) -> dict[str, Any]:
    """Return the whole document as a dictionary."""
    plugin = MarshmallowPlugin(schema_name_resolver=_name)
    spec = APISpec(plugins=[plugin], **fixed.HEAD)
    converter: Any = plugin.converter
    converter.add_attribute_function(_properties)
    converter.add_attribute_function(_lists)
    _add_fixed(spec)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Only explicitly-declared fields|.*could not be mapped")
        for operation in operations:
            spec.path(path=operation.path, operations={"post": post(operation)})
        for reference in (*references, *lists(operations, references)):
            spec.path(path=reference.path, operations={"get": get(reference)})
    found: dict[str, Any] = spec.to_dict()
    _complete(found, plugin)
    return found


def _add_fixed(spec: APISpec) -> None:
    for name, schema in (quantity_components() | problem_types.SCHEMAS | {"Probe": fixed.PROBE}).items():
        spec.components.schema(name, schema)
    for name in problem_types.RESPONSES:
        spec.components.response(name, problem_types.response(name, fixed.headers(*fixed.OF_PROBLEMS)))
    for name, header in fixed.HEADER_COMPONENTS.items():
        spec.components.header(name, header)
    spec.components.security_scheme("key", fixed.KEY)
    for path, item in fixed.SERVICE_PATHS.items():
        spec.path(path=path, operations=item)


def _complete(found: dict[str, Any], plugin: MarshmallowPlugin) -> None:
    """Add what apispec does not know: choices are objects of exactly one property, and schemas have descriptions."""
    assert plugin.converter is not None
    for (schema, *_), name in plugin.converter.refs.items():
        cls = schema if isinstance(schema, type) else type(schema)
        component = found["components"]["schemas"][name]
        component["description"] = cleandoc(cls.__doc__ or "").partition("\n\n")[0].replace("\n", " ")
        if issubclass(cls, RequestSchema) and shape_of(cls.shape).exactly_one:
            component.update(minProperties=1, maxProperties=1)


def render(operations: tuple[Operation[Any, Any], ...], references: tuple[Reference, ...]) -> str:
    """Return the document as it is committed: stable, indented, ending in a line feed."""
    return json.dumps(document(operations, references), indent=1, ensure_ascii=False) + "\n"

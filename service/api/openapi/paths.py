"""Operations as paths of the OpenAPI document, with real examples: requests, and what the service answered to them."""

import json
from collections.abc import Iterator
from inspect import cleandoc
from pathlib import Path
from typing import Any

from service.api.endpoint import MEDIA_TYPES, Operation, Reference
from service.api.openapi import fixed, problem_types
from service.limits.requests import LARGEST_BODY

FOLDER = Path(__file__).parents[3] / "openapi"
WHOLE = 6_000
"""Bytes of an answer that stands in the document whole. Of a longer one each list is cut to its first item, or the
document would be mostly examples; the whole one is in openapi/answers."""


def kebab(operation_id: str) -> str:
    """Return a name in kebab case: createPrepSheet as create-prep-sheet."""
    return "".join(f"-{c.lower()}" if c.isupper() else c for c in operation_id)


def example(operation_id: str) -> Any:
    """Return the runnable example request of an operation."""
    (path,) = (FOLDER / "examples").glob(f"{kebab(operation_id)}.*")
    return _read(path)


def _read(path: Path) -> Any:
    """Return a request as JSON, or as the text that it is."""
    text = path.read_bytes().decode()  # line ends as they are
    return json.loads(text) if path.suffix == ".json" else text


def examples(operation_id: str) -> dict[str, Any]:
    """Return every example request of an operation: `demo`, and those named as it, two hyphens and a subject."""
    more = sorted((FOLDER / "examples").glob(f"{kebab(operation_id)}--*"))
    named = {path.stem.partition("--")[2]: _read(path) for path in more}
    return {name: {"value": request} for name, request in {"demo": example(operation_id), **named}.items()}


def answers(name: str) -> dict[str, Any]:
    """Return the answer of a file as the document shows it; nothing while there is no file."""
    path = FOLDER / "answers" / f"{name}.json"
    if not path.exists():
        return {}
    return media_type(json.loads(path.read_text(encoding="utf-8")), whole=f"openapi/answers/{name}.json")


def problem(slug: str) -> Iterator[dict[str, Any]]:
    """Return the example of a problem type, where there is one."""
    path = FOLDER / "answers" / f"problem-{slug}.json"
    if path.exists():
        yield {"value": json.loads(path.read_text(encoding="utf-8"))}


def media_type(answer: Any, *, whole: str, to: str = "the example request") -> dict[str, Any]:
    """Return a media type with an answer as its one example.

    whole: where the whole of it can be had
    """
    if len(json.dumps(answer)) <= WHOLE:
        return {"examples": {"demo": {"summary": f"Answer to {to}.", "value": answer}}}
    summary = f"Answer to {to}, every list cut to its first item; whole: {whole}."
    return {"examples": {"demo": {"summary": summary, "value": _cut(answer)}}}


def _cut(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _cut(inner) for key, inner in node.items()}
    return [_cut(inner) for inner in node[:1]] if isinstance(node, list) else node


def post(operation: Operation[Any, Any]) -> dict[str, Any]:
    """Return an operation as the document describes it."""
    parameters = _parameters(operation)
    shown = examples(operation.operation_id)
    schema = type(operation.schema) if operation.takes == "json" else _text(operation.request, LARGEST_BODY)
    body = {MEDIA_TYPES[operation.takes]: {"schema": schema, "examples": shown}}
    return {
        "operationId": operation.operation_id,
        "tags": [operation.tag],
        "summary": operation.summary,
        "description": operation.description,
        **({"parameters": parameters} if parameters else {}),
        "requestBody": {"required": True, "content": body},
        "responses": _responses(operation),
    }


def get(reference: Reference) -> dict[str, Any]:
    """Return a reference as the document describes it."""
    if reference.form == "json":
        shown = media_type(reference.body(), whole=f"GET {reference.path}", to="this request")
        media = {"schema": reference.schema, **shown}
    else:
        media = {"schema": _text(reference.answer, LARGEST_BODY), "examples": {"demo": {"value": reference.read()}}}
    refused = (name for name in problem_types.OF_REFERENCES if name != "Unauthorized" or not reference.open_to_all)
    return {
        "operationId": reference.operation_id,
        "tags": [reference.tag],
        "summary": reference.summary,
        "description": reference.description,
        **({"security": []} if reference.open_to_all else {}),
        "parameters": [fixed.IF_NONE_MATCH],
        "responses": {
            "200": {
                "description": "The table.",
                "headers": fixed.UNCHANGED["headers"],
                "content": {MEDIA_TYPES[reference.form]: media},
            },
            "304": fixed.UNCHANGED,
            **problem_types.references(tuple(refused)),
        },
    }


def _text(described: type, longest: int) -> dict[str, Any]:
    """Return the schema of a text, by the class that says what it is."""
    return {"type": "string", "maxLength": longest, "description": cleandoc(described.__doc__ or "").replace("\n", " ")}


def _parameters(operation: Operation[Any, Any]) -> list[dict[str, Any]]:
    stated = [
        _parameter(name, schema["description"], {k: v for k, v in schema.items() if k != "description"})
        for name, schema in operation.query.items()
    ]
    stated.append(fixed.OMIT)
    if not operation.further_forms:
        return stated
    forms = {"type": "string", "enum": ["json", *operation.further_forms]}
    return [*stated, _parameter("format", "Overrides Accept.", forms)]


def _parameter(name: str, description: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def _responses(operation: Operation[Any, Any]) -> dict[str, Any]:
    shown = answers(kebab(operation.operation_id))
    content: dict[str, Any] = {
        MEDIA_TYPES["json"]: {
            "schema": operation.envelope,
            **shown,
        }
    }
    for form in operation.forms:
        described = {"type": "string", "maxLength": 10_000_000, "description": fixed.FORMS[form]}
        content[MEDIA_TYPES[form]] = {"schema": described}
    for form in operation.streams:
        described = {"type": "string", "maxLength": 100_000_000, "description": fixed.STREAMS[form]}
        content[MEDIA_TYPES[form]] = {"schema": described}
    names = ["Cache-Control", "Content-Language"]
    names += ["Vary"]
    names += ["Content-Security-Policy"] if "html" in operation.forms else []
    answer = {"description": "The answer.", "headers": fixed.headers(*names), "content": content}
    return {"200": answer, **problem_types.references(problem_types.OF_OPERATIONS)}

"""GET /v1, /v1/references and /problems: what there is, so that a path cut short is no dead end."""

from collections.abc import Iterator, Sequence
from typing import Any

from marshmallow import fields

from service.api.endpoint import Body, Open, Reference
from service.api.problems import TYPES
from service.api.quantities import Answered, says, text, whole


class ListedOperation(Open):
    """One operation: where it is, and what it answers."""

    method = Answered({"type": "string", "enum": ["GET", "POST"]})
    path = text(200)
    operation_id = text(100, metadata=says("Its name in /openapi.json."))
    summary = text(200)


class OperationsAnswer(Open):
    """Operations by their paths."""

    model = text(40)
    items = fields.List(fields.Nested(ListedOperation), required=True)


class ListedProblemType(Open):
    """A problem type; type is where it is explained, as in a problem document."""

    type = text(200)
    slug = text(100)
    title = text(200)
    status = whole()
    explanation = text()


class ProblemTypesAnswer(Open):
    """Every problem type."""

    model = text(40)
    items = fields.List(fields.Nested(ListedProblemType), required=True)


def lists(operations: Sequence[Any], references: Sequence[Reference]) -> tuple[Reference, ...]:
    """Return what answers GET /v1, /v1/references and /problems."""
    posts = [_listed("POST", operation) for operation in operations]
    gets = [_listed("GET", reference) for reference in references]
    of_references = Reference(
        path="/v1/references",
        operation_id="listReferences",
        summary="The tables that there are.",
        description="Each with its path and what it holds.",
        answer=OperationsAnswer,
        read=lambda: {"items": gets},
    )
    of_all = Reference(
        path="/v1",
        operation_id="listOperations",
        summary="The operations that there are.",
        description="Each with its method and path; /openapi.json describes them.",
        answer=OperationsAnswer,
        read=lambda: {"items": [*posts, *gets, _listed("GET", of_references)]},
        tag="service",
    )
    of_problems = Reference(
        path="/problems",
        operation_id="listProblemTypes",
        summary="The problem types that there are.",
        description="Each with its status and what to do about it. New types may come.",
        answer=ProblemTypesAnswer,
        read=lambda: {"items": list(_problem_types())},
        tag="service",
        open_to_all=True,
    )
    return of_all, of_references, of_problems


def _listed(method: str, one: Any) -> Body:
    return {"method": method, "path": one.path, "operation_id": one.operation_id, "summary": one.summary}


def _problem_types() -> Iterator[Body]:
    for slug, kind in sorted(TYPES.items()):
        yield {
            "type": f"/problems/{slug}",
            "slug": slug,
            "title": kind.title,
            "status": kind.status,
            "explanation": kind.explanation,
        }

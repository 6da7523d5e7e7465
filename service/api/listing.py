"""GET /v1, /v1/references and /problems: lists of what is below, so that a path cut short is no dead end."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from service.api.endpoint import Operation, Reference
from service.api.problems import TYPES
from service.declared import WORDED, Declared, text


@dataclass(frozen=True)
class ListedOperation:
    """One operation: where it is, and what it answers."""

    method: Declared[Literal["GET", "POST"]]
    path: Annotated[str, text(200)]
    operation_id: Annotated[str, text(100), "Its name in /openapi.json."]
    summary: Annotated[str, WORDED, text(200)]


@dataclass(frozen=True)
class Operations:
    """Operations by their paths."""

    items: Declared[tuple[ListedOperation, ...]]


@dataclass(frozen=True)
class ListedProblemType:
    """A problem type; type is where it is explained, as in a problem document."""

    type: Annotated[str, text(200)]
    slug: Annotated[str, text(100)]
    title: Annotated[str, WORDED, text(200)]
    status: Declared[int]
    explanation: Annotated[str, WORDED]


@dataclass(frozen=True)
class ProblemTypes:
    """Every problem type."""

    items: Declared[tuple[ListedProblemType, ...]]


def lists(operations: Sequence[Operation[Any, Any]], references: Sequence[Reference]) -> tuple[Reference, ...]:
    """Return the references that answer GET /v1, /v1/references and /problems."""
    posts = tuple(_listed("POST", operation) for operation in operations)
    gets = tuple(_listed("GET", reference) for reference in references)
    of_references = Reference(
        path="/v1/references",
        operation_id="listReferences",
        summary="The tables that there are.",
        description="Each with its path and what it holds.",
        answer=Operations,
        read=lambda: Operations(gets),
    )
    of_all = Reference(
        path="/v1",
        operation_id="listOperations",
        summary="The operations that there are.",
        description="Each with its method and path; /openapi.json describes them.",
        answer=Operations,
        read=lambda: Operations((*posts, *gets, _listed("GET", of_references))),
        tag="service",
    )
    of_problems = Reference(
        path="/problems",
        operation_id="listProblemTypes",
        summary="The problem types that there are.",
        description="Each with its status and what to do about it. New types may come.",
        answer=ProblemTypes,
        read=lambda: ProblemTypes(tuple(_problem_types())),
        tag="service",
        open_to_all=True,
    )
    return of_all, of_references, of_problems


def _listed(method: Literal["GET", "POST"], one: Operation[Any, Any] | Reference) -> ListedOperation:
    return ListedOperation(method, one.path, one.operation_id, one.summary)


def _problem_types() -> Iterator[ListedProblemType]:
    for slug, kind in sorted(TYPES.items()):
        yield ListedProblemType(f"/problems/{slug}", slug, kind.title, kind.status, kind.explanation)

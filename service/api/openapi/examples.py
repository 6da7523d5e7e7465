"""Examples of requests and of answers. Both are real: the answers are what the service gave to the requests."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[3] / "openapi"
WHOLE = 6_000
"""Bytes of an answer that stands in the document whole. Of a longer one each list is cut to its first item, or the
document would be mostly examples; the whole one is in openapi/answers."""


def kebab(operation_id: str) -> str:
    """createPrepSheet as create-prep-sheet."""
    return "".join(f"-{c.lower()}" if c.isupper() else c for c in operation_id)


def example(operation_id: str) -> Any:
    """The runnable example request of an operation."""
    (path,) = (FOLDER / "examples").glob(f"{kebab(operation_id)}.*")
    return _read(path)


def _read(path: Path) -> Any:
    """Return a request as JSON, or as the text that it is."""
    text = path.read_bytes().decode()  # line ends as they are
    return json.loads(text) if path.suffix == ".json" else text


def examples(operation_id: str) -> dict[str, Any]:
    """Every example request of an operation: `demo`, and those called as it, two hyphens and what they are about."""
    more = sorted((FOLDER / "examples").glob(f"{kebab(operation_id)}--*"))
    named = {path.stem.partition("--")[2]: _read(path) for path in more}
    return {name: {"value": request} for name, request in {"demo": example(operation_id), **named}.items()}


def answers(name: str) -> dict[str, Any]:
    """What the document shows of an answer by its file: an example object, or nothing while there is no file."""
    path = FOLDER / "answers" / f"{name}.json"
    if not path.exists():
        return {}
    return of(json.loads(path.read_text(encoding="utf-8")), whole=f"openapi/answers/{name}.json")


def problem(slug: str) -> Iterator[dict[str, Any]]:
    """The example of a problem type, where there is one."""
    path = FOLDER / "answers" / f"problem-{slug}.json"
    if path.exists():
        yield {"value": json.loads(path.read_text(encoding="utf-8"))}


def of(answer: Any, *, whole: str, to: str = "the example request") -> dict[str, Any]:
    """The examples of a media type, with the one answer.

    whole: where all of it is to be had
    """
    if len(json.dumps(answer)) <= WHOLE:
        return {"examples": {"demo": {"summary": f"Answer to {to}.", "value": answer}}}
    summary = f"Answer to {to}, every list cut to its first item; whole: {whole}."
    return {"examples": {"demo": {"summary": summary, "value": _cut(answer)}}}


def _cut(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _cut(inner) for key, inner in node.items()}
    return [_cut(inner) for inner in node[:1]] if isinstance(node, list) else node

"""Numbers of answers, kept by the model that made them, so that none can move unseen.

A file for each of the last two models has a line for each request: the numbers of its answer by JSON Pointer. Numbers
of the model in force stand in openapi/answers alone where that holds the whole answer. Cautions and assumptions, which
stand beside the results, are not kept. What makes the numbers right is named in tests/test_golden.py.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from math import isclose
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient

from service.api.app import OPERATIONS
from tests.running import ROOT

FOLDER = Path(__file__).parent
EXAMPLES = ROOT / "openapi/examples"
WHOLE = ROOT / "openapi/answers"
MORE = FOLDER / "requests"
"""Requests that reach what the examples do not, called as their operation, two hyphens and what they are about."""
SAME = 1e-9
"""Relative, and of the unit where a number is near nothing: what solvers and platforms leave of a bar or a gram."""
PATHS = {re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "-", o.operation_id).lower(): o.path for o in OPERATIONS}
"""Operation in kebab case -> its path."""
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT")
"""Moments of an answer count as numbers, seconds of the Unix epoch."""
BESIDE = ("cautions", "assumptions")
TOLD_BY = ("id", "name", "component", "code", "country", "vessel")
"""What tells items of a list apart, where it does: so that one more item moves no other."""

Numbers = dict[str, float]


def requests() -> dict[str, Any]:
    """Every request that is kept, by its name."""
    paths = sorted([*EXAMPLES.glob("*.json"), *MORE.glob("*.json")])
    return {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in paths}


def path_of(name: str) -> str:
    """Path of the operation that a request is for."""
    return PATHS[name.partition("--")[0]]


def answered(client: FlaskClient, name: str, request: Any) -> Numbers:
    """Numbers of the answer; none where the request is refused."""
    response = client.post(path_of(name), json=request)
    body = response.get_json() if response.status_code == 200 else {}
    return dict(_numbers(body, ""))


def _numbers(node: Any, pointer: str) -> Iterator[tuple[str, float]]:
    if isinstance(node, bool):
        return
    if isinstance(node, int | float):
        yield pointer, node
    elif isinstance(node, str) and MOMENT.match(node):
        yield pointer, datetime.fromisoformat(node).timestamp()
    elif isinstance(node, dict):
        for key, inner in node.items():
            if key not in BESIDE:
                yield from _numbers(inner, f"{pointer}/{key}")
    elif isinstance(node, list):
        for token, inner in zip(_tokens(node), node, strict=True):
            yield from _numbers(inner, f"{pointer}/{token}")


def _tokens(items: list[Any]) -> list[str]:
    """What each item of a list is called in a pointer: by its own name where that is one, else by its place."""
    for key in TOLD_BY:
        names = [item.get(key) if isinstance(item, dict) else None for item in items]
        if all(isinstance(name, str) for name in names) and len(set(names)) == len(names):
            return [str(name).replace("/", "~1") for name in names]
    return [str(i) for i in range(len(items))]


def moved(before: Numbers, after: Numbers) -> dict[str, str]:
    """Pointers of numbers that are other than they were, or gone, with both; a new number has not moved."""
    return {
        pointer: f"{value!r} -> {after.get(pointer, 'gone')!r}"
        for pointer, value in before.items()
        if pointer not in after or not isclose(value, after[pointer], rel_tol=SAME, abs_tol=SAME)
    }


def models() -> list[str]:
    """Return the models whose numbers are kept, the newest last."""
    return sorted((path.stem for path in FOLDER.glob("*.json")), key=lambda model: tuple(map(int, model.split("."))))


def kept(model: str) -> dict[str, Any]:
    """Return request and numbers of each answer of a model, by the name of the request."""
    path = FOLDER / f"{model}.json"
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    return whole(model) | found


def whole(model: str) -> dict[str, Any]:
    """Return the same of the answers that are kept whole, where they are this model's."""
    found = {}
    for name, request in requests().items():
        path = WHOLE / f"{name}.json"
        answer = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
        if answer.get("model") == model:
            found[name] = {"request": request, "numbers": dict(_numbers(answer, ""))}
    return found


def write(model: str, answers: Mapping[str, Any]) -> None:
    """Keep the numbers of answers as those of a model, each answer in a line."""
    lines = [f"{json.dumps(name)}: {json.dumps(answers[name], ensure_ascii=False)}" for name in sorted(answers)]
    (FOLDER / f"{model}.json").write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def entries(model: str) -> list[str]:
    """What the changelog says of a model under Numbers, entry by entry."""
    log = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    section = re.search(rf"(?ms)^## {re.escape(model)}\n(.*?)(?=^## |\Z)", log)
    numbers = section and re.search(r"(?ms)^### Numbers\n(.*?)(?=^### |\Z)", section[1])
    return re.split(r"(?m)^- ", numbers[1])[1:] if numbers else []


def unnamed(name: str, pointers: Iterable[str], model: str) -> list[str]:
    """Pointers that no entry names: one that does has the operation's path and a part of the pointer as code."""
    named = [set(re.findall(r"`([^`]+)`", entry)) for entry in entries(model)]
    return [p for p in pointers if not any(path_of(name) in words and words & set(p.split("/")) for words in named)]

"""Numbers of answers, kept by the model that made them, so that none can move unseen.

A folder for each of the last two models; in it a file for each request, with the numbers of its answer by JSON Pointer.
What is said beside the results, cautions and assumptions, is not kept.
"""

import json
import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from math import isclose
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient

from service import MODEL
from service.api.app import OPERATIONS
from tests.running import ROOT

FOLDER = Path(__file__).parent
EXAMPLES = ROOT / "openapi/examples"
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
    """Models whose numbers are kept, the newest last."""
    kept = [path.name for path in FOLDER.iterdir() if re.fullmatch(r"\d+\.\d+\.\d+", path.name)]
    return sorted(kept, key=lambda model: tuple(map(int, model.split("."))))


def kept(model: str) -> dict[str, Any]:
    """What is kept of a model: model, request and numbers of each answer, by the name of the request."""
    return {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in (FOLDER / model).glob("*.json")}


def drop(names: Iterable[str]) -> None:
    """Keep these no longer as answers of the model in force."""
    for name in names:
        (FOLDER / MODEL / f"{name}.json").unlink()


def write(name: str, request: Any, numbers: Numbers) -> None:
    """Keep the numbers of an answer as those of the model in force."""
    (FOLDER / MODEL).mkdir(exist_ok=True)
    body = json.dumps({"model": MODEL, "request": request, "numbers": numbers}, indent=0, ensure_ascii=False)
    (FOLDER / MODEL / f"{name}.json").write_text(body + "\n", encoding="utf-8")


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

"""Every regular expression of the service, its document and its proxy, against texts made to exhaust it."""

import ast
import json
import re
import time
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

from tests.clients.operations import DOCUMENT
from tests.running import ROOT

LONGEST = 40_000
"""Characters; no text of a request that a pattern sees is longer than a header, 4 kB."""
START_S, CHARACTER_S = 0.002, 1e-6
"""CPU time that a text may take, at once and for each character; linear work takes a twentieth, squared far more."""
SEARCHING = ("search", "sub", "split", "findall", "finditer")
USES = ("compile", "match", "fullmatch", *SEARCHING)

Use = tuple[str, str]
"""A pattern, and whether it is sought anywhere in a text or only at its start."""


def run() -> Iterator[str]:
    found = {*_in_code(), *_in_document(), *_in_proxy()}
    slowest, pattern = max((_worst(pattern, use), pattern) for pattern, use in sorted(found))
    yield f"{len(found)} patterns; the slowest takes {1e3 * slowest:.2f} ms over {LONGEST} characters: {pattern[:80]}"


def _in_code() -> Iterator[Use]:
    """Yield the patterns that the code gives to re, evaluated where they stand."""
    for path in sorted((ROOT / "service").glob("**/*.py")):
        text = path.read_text()
        tree = ast.parse(text)
        names = {node.value: ast.unparse(node.targets[0]) for node in ast.walk(tree) if isinstance(node, ast.Assign)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and ast.unparse(node.func) in {f"re.{use}" for use in USES}:
                way = ast.unparse(node.func).removeprefix("re.")
                sought = way in SEARCHING or any(f"{names.get(node)}.{each}(" in text for each in SEARCHING)
                yield _evaluated(path, node.args[0]), "search" if sought else "match"


def _evaluated(path: Path, argument: ast.expr) -> str:
    if isinstance(argument, ast.Constant):
        return str(argument.value)
    module = import_module(".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"))
    return str(eval(compile(ast.Expression(argument), str(path), "eval"), vars(module)))  # noqa: S307 - our own


def _in_document() -> Iterator[Use]:
    def walk(node: Any) -> Iterator[Use]:
        if isinstance(node, dict):
            if isinstance(node.get("pattern"), str):
                yield node["pattern"], "search"  # as JSON Schema means it
            node = list(node.values())
        if isinstance(node, list):
            for inner in node:
                yield from walk(inner)

    return walk(json.loads(DOCUMENT.read_text()))


def _in_proxy() -> Iterator[Use]:
    for pattern in re.findall(r'"~(\^.*)" ', (ROOT / "docker" / "nginx" / "nginx.conf").read_text()):
        yield pattern, "search"


def _worst(pattern: str, use: str) -> float:
    """The longest time over a text of LONGEST characters [s]; texts grow by steps, so that what explodes ends early."""
    longest = 0.0
    for head, part in _attacks(pattern):
        size = 8
        while size < LONGEST:
            size += size // 4
            taken = _seconds(pattern, use, head + part * (size // len(part)) + "\x00")
            allowed = START_S + size * CHARACTER_S
            assert taken < allowed, f"{pattern!r} takes {taken:.3f} s over {size} characters of {part[:20]!r}"
        longest = max(longest, taken)
    return longest


def _seconds(pattern: str, use: str, text: str) -> float:
    look = getattr(re.compile(pattern), use)
    began = time.process_time()
    look(text)
    return time.process_time() - began


def _attacks(pattern: str) -> set[tuple[str, str]]:
    """For each part that may be repeated: what leads up to it, and the part; then each character that it names."""
    parsed = re._parser.parse(pattern)  # type: ignore[attr-defined]
    attacks = {("", character) for character in {*pattern, "0", "a", " ", "-", ".", "é"}}
    return attacks | set(_repeats(parsed, ""))


def _repeats(parsed: Any, head: str) -> Iterator[tuple[str, str]]:
    for name, argument in parsed:
        for inner in _inside(str(name), argument):
            yield from _repeats(inner, head)
            if "REPEAT" in str(name) and (part := _sample(inner)):
                yield head, part
        head += _sample([(name, argument)])


def _inside(name: str, argument: Any) -> list[Any]:
    if "REPEAT" in name:
        return [argument[2]]
    if name == "SUBPATTERN":
        return [argument[3]]
    return list(argument[1]) if name == "BRANCH" else []


def _sample(parsed: Any) -> str:
    """A text that it matches, near enough."""
    text = ""
    for name, argument in parsed:
        kind = str(name)
        if kind == "LITERAL":
            text += chr(argument)
        elif kind in ("NOT_LITERAL", "ANY"):
            text += "~"
        elif kind == "IN":
            text += _member(argument)
        else:
            least = max(argument[0], 1) if "REPEAT" in kind else 1
            text += "".join(_sample(inner) for inner in _inside(kind, argument)[:1]) * min(least, 40)
    return text


def _member(named: Any) -> str:
    kind, value = str(named[0][0]), named[0][1]
    if kind == "LITERAL":
        return chr(value)
    if kind == "RANGE":
        return chr(value[0])
    return {"CATEGORY_DIGIT": "0", "CATEGORY_SPACE": " "}.get(str(value), "a")

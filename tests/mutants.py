"""Breaks the safety code one place at a time and lists what no test notices: `python -m tests.mutants`.

Every numeric constant of service/safety, service/vessel and service/regas/events.py is made a tenth or one less and
more, every comparison turned, `and` and `or`, `max` and `min` exchanged, each side of an `and` or `or` taken alone,
every statement that only acts deleted; each in a copy of the tree. What survives is to be killed by a better test or
has a reason. Not part of `make test`: it takes hours on one core, less for a file alone.
"""

import argparse
import ast
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import CoolProp.CoolProp  # noqa: F401 - what takes long to import is imported once
import flask  # noqa: F401
import hypothesis.strategies  # noqa: F401
import marshmallow  # noqa: F401
import pytest

ROOT = Path(__file__).parent.parent
TESTS = {
    "service/safety": ("safety", "charging", "reading", "regas_states", "carbonation", "regas"),
    "service/vessel": ("vessel", "safety", "charging"),
    "service/regas/events.py": ("regas_states",),
}
"""The tests that are to notice, the likeliest first."""
TOO_SMALL = 1e-5
"""Constants under this are what a change of units or a solver may add: a tenth of it is nothing."""
LONGEST_S = 600
"""A test that takes longer is stopped, and has noticed."""
QUIET = ("-W", "ignore::pytest.PytestAssertRewriteWarning")
"""Of what is imported before pytest begins."""
OTHER = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    path: str
    line: int
    was: str
    now: str
    begins: int
    ends: int


def numbers(node: ast.Constant) -> Iterator[ast.AST]:
    value = node.value
    if isinstance(value, bool) or not isinstance(value, int | float) or 0.0 < abs(value) < TOO_SMALL:
        return
    if isinstance(value, int):
        changed: tuple[float, float] = (value - 1, value + 1)
    else:
        changed = (0.9 * value, 1.1 * value) if value else (-0.1, 0.1)
    for other in changed:
        yield ast.Constant(other)


def turned(node: ast.Compare) -> Iterator[ast.AST]:
    for i, op in enumerate(node.ops):
        ops = [*node.ops]
        ops[i] = OTHER[type(op)]()
        yield ast.Compare(node.left, ops, node.comparators)


def joined(node: ast.BoolOp) -> Iterator[ast.AST]:
    yield ast.BoolOp(ast.And() if isinstance(node.op, ast.Or) else ast.Or(), node.values)
    yield from node.values


def called(node: ast.Call) -> Iterator[ast.AST]:
    if isinstance(node.func, ast.Name) and node.func.id in ("max", "min"):
        other = ast.Name("min" if node.func.id == "max" else "max")
        yield ast.Call(other, node.args, node.keywords)


def acting(node: ast.stmt) -> Iterator[ast.AST]:
    """Nothing in place of what is called for its effect, raised, yielded, or kept on an object."""
    match node:
        case ast.Raise() | ast.AugAssign() | ast.Assign(targets=[ast.Attribute()]):
            yield ast.Pass()
        case ast.Expr(value=ast.Call() | ast.Yield()):
            yield ast.Pass()


def others(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the mutants of a node."""
    match node:
        case ast.Constant():
            yield from numbers(node)
        case ast.Compare():
            yield from turned(node)
        case ast.BoolOp():
            yield from joined(node)
        case ast.Call():
            yield from called(node)
    if isinstance(node, ast.stmt):
        yield from acting(node)


def mutants(path: str, source: str) -> Iterator[Mutant]:
    """Every change of a file; none of annotations, defaults of imports or formatted strings."""
    begins = [0]
    for row in source.encode().splitlines(keepends=True):
        begins.append(begins[-1] + len(row))
    tree = ast.parse(source)
    left_out = {
        id(inner)
        for node in ast.walk(tree)
        for part in (getattr(node, "annotation", None), getattr(node, "returns", None),
                     node if isinstance(node, ast.JoinedStr | ast.ImportFrom | ast.Import) else None)
        if part is not None
        for inner in ast.walk(part)
    }  # fmt: skip
    for node in ast.walk(tree):
        if id(node) in left_out or not isinstance(node, ast.expr | ast.stmt):
            continue
        first, last = (
            begins[node.lineno - 1] + node.col_offset,
            begins[(node.end_lineno or 1) - 1] + (node.end_col_offset or 0),
        )
        was = source.encode()[first:last].decode()
        for other in others(node):
            now = ast.unparse(ast.fix_missing_locations(other))
            if isinstance(node, ast.Compare | ast.BoolOp):
                now = f"({now})"
            yield Mutant(path, node.lineno, was, now, first, last)


class Quickest:
    """Tests by examples come first, those by many made-up ones last."""

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items.sort(key=lambda item: hasattr(getattr(item, "obj", None), "hypothesis"))


def passes(tree: Path, names: Iterable[str]) -> bool:
    """Tell whether the tests pass in a copy of the tree, in a process that has imported all but the service already."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] == 0
    failed = 1
    try:
        os.chdir(tree)
        sys.path.insert(0, str(tree))
        for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "service")]:
            del sys.modules[name]
        for stream in (1, 2):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
        signal.alarm(LONGEST_S)
        failed = int(
            pytest.main(
                [*(f"tests/test_{name}.py" for name in names), "-x", "-q", "-p", "no:cacheprovider", *QUIET],
                [Quickest()],
            )
        )
    finally:
        os._exit(failed)


def survives(mutant: Mutant, tree: Path) -> bool:
    """Tell whether all the tests of its file pass with it, in a copy of the tree that is put right again."""
    file = tree / mutant.path
    source = file.read_bytes()
    file.write_bytes(source[: mutant.begins] + mutant.now.encode() + source[mutant.ends :])
    shutil.rmtree(file.parent / "__pycache__", ignore_errors=True)  # it may be as long and as old as the right one
    try:
        return passes(tree, next(names for part, names in TESTS.items() if mutant.path.startswith(part)))
    finally:
        file.write_bytes(source)
        shutil.rmtree(file.parent / "__pycache__", ignore_errors=True)


def copied(folder: Path) -> Path:
    folder.mkdir()
    for name in ("service", "tests", "openapi", "pyproject.toml"):
        of = ROOT / name
        if of.is_dir():
            shutil.copytree(of, folder / name, ignore=shutil.ignore_patterns("__pycache__", ".hypothesis"))
        else:
            shutil.copy(of, folder / name)
    return folder


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("paths", nargs="*", default=list(TESTS), help="files or folders of service")
    asked.add_argument("--minutes", type=float, default=60.0, help="begin none after so long")
    asked.add_argument("--list", action="store_true", help="say what would be changed, and change nothing")
    given = asked.parse_args()
    files = [f for p in given.paths for f in ([ROOT / p] if p.endswith(".py") else sorted((ROOT / p).glob("*.py")))]
    found = [m for file in files for m in mutants(str(file.relative_to(ROOT)), file.read_text())]
    if given.list:
        print(*(f"{m.path}:{m.line}  {m.was!r} -> {m.now!r}" for m in found), f"{len(found)} mutants", sep="\n")
        return
    os.nice(19)
    until, alive = time.monotonic() + 60.0 * given.minutes, list[bool]()
    with tempfile.TemporaryDirectory() as folder:
        tree = copied(Path(folder) / "tree")
        if not passes(tree, sorted({name for names in TESTS.values() for name in names})):
            sys.exit("the tests fail as it is")
        for mutant in found:
            alive.append(survives(mutant, tree))
            if alive[-1]:
                print(f"survives  {mutant.path}:{mutant.line}  {mutant.was!r} -> {mutant.now!r}", flush=True)
            if time.monotonic() > until:
                break
    print(f"{len(alive)} of {len(found)} tried: {alive.count(False)} noticed, {alive.count(True)} survive")


if __name__ == "__main__":
    main()

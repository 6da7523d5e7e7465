"""Texts and parameters as the source writes them: what an expression may be, without running it."""

import ast
import re
from functools import cache
from itertools import product
from pathlib import Path

SERVICE = Path(__file__).parents[2] / "service"


Block = tuple[int, ...]
"""The blocks that a node stands in, from the outside in."""


class Scope:
    """What the names of a function or module are given, each time in which block and on which line."""

    def __init__(self, node: ast.AST, outer: "Scope | None" = None) -> None:
        self.given: dict[str, list[tuple[int, Block, ast.expr]]] = {}
        self.entries: dict[str, list[ast.expr]] = {}
        self.imports: dict[str, str] = {}
        self.blocks: dict[int, Block] = {}
        self.returns: dict[str, list[ast.expr | None]] = {}
        self.outer = outer
        self.top: Scope = self if outer is None else outer.top
        self._enter(node, ())

    def of(self, name: ast.Name) -> list[ast.expr]:
        """Whatever a name may stand for where it is used: what it was given last, and before that in other branches."""
        found, here = list[ast.expr](), self.blocks.get(id(name), ())
        for line, block, value in reversed(self.given.get(name.id, [])):
            if line < name.lineno or id(name) not in self.blocks:
                found.append(value)
                if block == here[: len(block)]:
                    return found
        return found or (self.outer.of(name) if self.outer is not None else self._imported(name.id))

    def _imported(self, name: str) -> list[ast.expr]:
        """What a name of another module of the service is given there, written out as constants."""
        if name not in self.imports:
            return []
        known = _module(self.imports[name])
        if not known.ever(name):
            return known._imported(name)
        return [ast.Constant(text) for value in known.ever(name) for text in texts(value, known) or ()]

    def ever(self, name: str) -> list[ast.expr]:
        """Whatever a name is given anywhere, entries of a dictionary that it names among it."""
        found = [value for _, _, value in self.given.get(name, [])] + self.entries.get(name, [])
        return found or (self.outer.ever(name) if self.outer is not None else [])

    def _enter(self, node: ast.AST, block: Block) -> None:
        for name, value in ast.iter_fields(node):
            inside = (
                (*block, id(value)) if name in ("body", "orelse", "handlers") and isinstance(value, list) else block
            )
            for one in value if isinstance(value, list) else [value]:
                if isinstance(one, ast.AST):
                    self.blocks[id(one)] = inside
                    self._give(one, inside)
                    if not isinstance(one, ast.FunctionDef | ast.ClassDef):
                        self._enter(one, inside)

    def _give(self, node: ast.AST, block: Block) -> None:
        pairs: list[tuple[ast.expr, ast.expr | None]] = []
        match node:
            case ast.FunctionDef(name=name):
                self.returns[name] = [one.value for one in ast.walk(node) if isinstance(one, ast.Return)]
            case ast.ImportFrom(module=str(module), names=names) if module.startswith("service."):
                self.imports |= {one.asname or one.name: module for one in names}
            case ast.Assign(targets=[ast.Tuple(elts=targets)], value=ast.Tuple(elts=values)):
                pairs = list(zip(targets, values, strict=False))
            case ast.Assign(targets=[ast.Subscript(value=ast.Name(id=name), slice=key)], value=value):
                entry = ast.copy_location(ast.Dict([key], [value]), node)
                self.entries.setdefault(name, []).append(entry)
            case ast.Assign(targets=[target], value=value) | ast.AnnAssign(target=target, value=value):
                pairs = [(target, value)]
            case ast.AugAssign(target=ast.Name(id=name) as target, op=op, value=value):
                own = ast.copy_location(ast.Name(name, ast.Load()), node)
                self.blocks[id(own)] = block
                pairs = [(target, ast.copy_location(ast.BinOp(own, op, value), node))]
        for target, value in pairs:
            if isinstance(target, ast.Name) and value is not None:
                self.given.setdefault(target.id, []).append((value.lineno, block, value))


@cache
def _module(name: str) -> Scope:
    path = SERVICE.parent / name.replace(".", "/")
    path = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    return Scope(ast.parse(path.read_text(encoding="utf-8")))


def texts(  # noqa: C901, PLR0911 - one case for each kind of expression
    node: ast.expr | None, scope: Scope, depth: int = 0
) -> tuple[str, ...] | None:
    """Every text that an expression may be; what is put in at run time as {name}. None where that is not known."""
    if node is None or depth > 12:
        return None
    match node:
        case ast.Constant(value=str(value)):
            return (value,)
        case ast.JoinedStr(values=values):
            return _joined([_part(value, scope, depth) for value in values])
        case ast.BinOp(left=left, right=right, op=ast.Add()):
            sides = [texts(one, scope, depth + 1) for one in (left, right)]
            put_in = isinstance(left, ast.Constant | ast.BinOp) and isinstance(right, ast.Subscript)
            return _joined([sides[0], _put_in(right)] if put_in else sides)
        case ast.Call(func=ast.Name(id=name)) if name in scope.top.returns:
            return _either([texts(one, scope.top, depth + 1) for one in scope.top.returns[name]])
        case ast.Call(func=ast.Attribute(value=value, attr="format")):
            return texts(value, scope, depth + 1)
        case ast.IfExp(body=body, orelse=orelse):
            return _either([texts(body, scope, depth + 1), texts(orelse, scope, depth + 1)])
        case ast.Name():
            return _either([texts(one, scope, depth + 1) for one in scope.of(node)])
        case ast.Subscript(value=ast.Name() as name):
            tables = [one for one in scope.of(name) if isinstance(one, ast.Dict)]
            return _either([texts(one, scope, depth + 1) for table in tables for one in table.values])
        case ast.Subscript(value=ast.Dict(values=values)):
            return _either([texts(one, scope, depth + 1) for one in values])
    return None


def _part(node: ast.expr, scope: Scope, depth: int) -> tuple[str, ...] | None:
    if not isinstance(node, ast.FormattedValue):
        return texts(node, scope, depth + 1)
    found = texts(node.value, scope, depth + 1) if isinstance(node.value, ast.Name | ast.Call) else None
    return found or _put_in(node.value)


def _put_in(node: ast.expr) -> tuple[str]:
    """What is put in at run time, by the last name of its expression."""
    words = re.findall(r"[A-Za-z]\w*", ast.unparse(node))
    names = [
        word for word in words if word not in ("self", "shown", "join", "len", "float", "lower", "upper", "replace")
    ]
    return ("{" + (names[-1] if names else "value").lower() + "}",)


def _joined(parts: list[tuple[str, ...] | None]) -> tuple[str, ...] | None:
    known = [part for part in parts if part is not None]
    return tuple("".join(one) for one in product(*known)) if len(known) == len(parts) else None


def _either(parts: list[tuple[str, ...] | None]) -> tuple[str, ...] | None:
    known = [part for part in parts if part is not None]
    return tuple(dict.fromkeys(one for part in known for one in part)) if parts and len(known) == len(parts) else None


def kind_of(  # noqa: PLR0911 - one case for each kind of expression
    node: ast.expr, scope: Scope, depth: int = 0
) -> str:
    """The kind of a parameter: a kind of quantity, number, or text."""
    match node:
        case ast.Call(func=ast.Name(id="Quantity"), args=[ast.Constant(value=str(kind)), *_]):
            return kind
        case ast.Call(func=ast.Name(id="float" | "_short")) | ast.Constant(value=float() | int()):
            return "number"
        case ast.Name() if depth < 4 and scope.of(node):
            return kind_of(scope.of(node)[0], scope, depth + 1)
        case ast.BinOp():
            return "number"
        case ast.Call(func=ast.Name(id=name)) if depth < 4 and name in scope.top.returns:
            returned = [one for one in scope.top.returns[name] if one is not None]
            return "|".join(sorted({kind_of(one, scope.top, depth + 1) for one in returned})) or "text"
        case ast.IfExp(body=body, orelse=orelse):
            return "|".join(sorted({kind_of(one, scope, depth + 1) for one in (body, orelse)}))
    return "text"


def params_of(  # noqa: C901 - one case for each way in which they are written
    node: ast.expr | None, scope: Scope, depth: int = 0
) -> dict[str, str]:
    """Names and kinds of parameters, from a dictionary, pairs, or a name for either."""
    found: dict[str, str] = {}
    match node:
        case ast.Dict(keys=keys, values=values):
            for key, value in zip(keys, values, strict=True):
                if isinstance(key, ast.Constant):
                    found[str(key.value)] = kind_of(value, scope)
                elif key is None:
                    found |= params_of(value, scope, depth + 1)
        case ast.Tuple(elts=elts) | ast.List(elts=elts):
            for pair in elts:
                match pair:
                    case ast.Tuple(elts=[ast.Constant(value=str(name)), value]):
                        found[name] = kind_of(value, scope)
                    case ast.Starred(value=value):
                        found |= params_of(value, scope, depth + 1)
        case ast.BinOp(left=left, right=right, op=ast.BitOr()) | ast.IfExp(body=left, orelse=right):
            found = params_of(left, scope, depth + 1) | params_of(right, scope, depth + 1)
        case ast.Name() if depth < 6:
            for one in scope.ever(node.id):
                found |= params_of(one, scope, depth + 1)
    return found

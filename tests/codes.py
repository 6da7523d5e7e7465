"""The codes that the service sends, read from its source and from its answers, and held against service/codes.csv.

`python -m tests.codes` writes the table anew: what is new comes in, a text that changed is replaced, and a code that is
gone is marked deprecated. Of a text that the source puts together from parts the row is left as it is, or begun with a
question mark, to be completed by hand; tests/test_codes.py names those.
"""

import ast
import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

from service.codes import FIELDS, TABLE, Code, codes, rows

SERVICE = Path(__file__).parents[1] / "service"
UNKNOWN = "?"
"""Stands for a text that is not to be read from the source."""
PLACEHOLDER = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True)
class Sender:
    """Where in a call its code, severity, text and params stand; None where it has none."""

    kind: str
    code: int
    text: int | None
    severity: int | None = None
    params: int | str | None = None


SENDERS = {
    "caution": Sender("caution", 0, 2, severity=1, params="keywords"),
    "Fault": Sender("problem", 1, 2, params=3),
    "Coded": Sender("problem", 0, 1),
    "fault": Sender("problem", 0, 1),
    "refuse": Sender("problem", 0, 1),
    "_most": Sender("problem", 4, 5),
    "_query_fault": Sender("problem", 1, 2),
    "add": Sender("step", 2, 3),
    "Finding": Sender("finding", 0, 3, severity=1, params=5),
    "Advice": Sender("advice", 0, 1, params=2),
    "Gain": Sender("gain", 0, 1, params=3),
    "Difference": Sender("difference", 0, 5),
    "Differs": Sender("difference", 0, 2, params=5),
    "Sentence": Sender("sentence", 0, 1, params=2),
    "Record": Sender("record", 0, None),
}
"""What makes a code, by the name it is called by."""
NOT_SENDERS = {"add": lambda of: of.endswith("steps"), "fault": lambda of: not of, "caution": lambda of: of == "notes"}
"""Where that name alone does not tell, what it is called on."""


@dataclass
class Found:
    """What one place of the source sends. texts: None where it is not to be read from there."""

    kind: str
    code: str
    severity: str
    texts: tuple[str, ...] | None
    params: dict[str, str]
    where: str


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


def kind_of(node: ast.expr, scope: Scope, depth: int = 0) -> str:
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


class Source(ast.NodeVisitor):
    """Walks one module and gathers what it sends."""

    def __init__(self, path: Path, outer: Scope) -> None:
        self.where, self.scope, self.found = str(path.relative_to(SERVICE.parent)), outer, list[Found]()

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        before, self.scope = self.scope, Scope(node, self.scope)
        self.generic_visit(node)
        self.scope = before

    def visit_Dict(self, node: ast.Dict) -> None:
        """An error that is written out as it goes over the wire."""
        fields = {key.value: value for key, value in zip(node.keys, node.values, strict=True)
                  if isinstance(key, ast.Constant)}  # fmt: skip
        if {"in", "pointer", "code", "text"} <= fields.keys():
            self._keep(Sender("problem", 0, 1), [fields["code"], fields["text"]], {}, node.lineno)
        self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        name, on = _called(node.func)
        sender = SENDERS.get(name)
        if sender is not None and (name not in NOT_SENDERS or NOT_SENDERS[name](on)):
            unpacked = {f"**{i}": k.value for i, k in enumerate(node.keywords) if k.arg is None}
            self._keep(sender, node.args, {k.arg: k.value for k in node.keywords if k.arg} | unpacked, node.lineno)
        self.generic_visit(node)

    def _keep(self, sender: Sender, args: list[ast.expr], keywords: Mapping[str, ast.expr], line: int) -> None:
        def argument(index: int | None) -> ast.expr | None:
            return args[index] if index is not None and index < len(args) else None

        severity = texts(argument(sender.severity), self.scope)
        if sender.params == "keywords":
            params: dict[str, str] = {}
            for name, value in keywords.items():
                one = params_of(value, self.scope) if name.startswith("**") else {name: kind_of(value, self.scope)}
                params |= one if name != "at" else {}
        else:
            params = params_of(keywords.get("params", argument(int(sender.params or 99))), self.scope)
        found = () if sender.text is None else texts(argument(sender.text), self.scope)
        for code in texts(argument(sender.code), self.scope) or ():
            if "{" not in code:
                where = f"{self.where}:{line}"
                self.found.append(Found(sender.kind, code, (severity or ("",))[0], found, params, where))


def _called(func: ast.expr) -> tuple[str, str]:
    if isinstance(func, ast.Attribute):
        return func.attr, ast.unparse(func.value)
    return (func.id, "") if isinstance(func, ast.Name) else ("", "")


@cache
def sent_by_source() -> tuple[Found, ...]:
    """All that the source sends under a code that stands in it."""
    found: list[Found] = []
    for path in sorted(SERVICE.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        source = Source(path, Scope(tree))
        source.visit(tree)
        found += source.found
    return tuple(found)


# The table


def amended() -> list[dict[str, str]]:
    """The table as the source has it today: see the module."""
    before: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in rows():
        before.setdefault((row["kind"], row["code"]), []).append(row)
    now: dict[tuple[str, str], list[Found]] = {}
    for found in sent_by_source():
        now.setdefault((found.kind, found.code), []).append(found)
    table = [row for key, found in now.items() for row in _rows(*key, found, before.get(key, []))]
    for key in before.keys() - now.keys():
        status = {"sent": "deprecated"}
        table += [{**row, "status": status.get(row["status"], row["status"])} for row in before[key]]
    return sorted(table, key=lambda row: (row["kind"], row["code"]))


def _rows(kind: str, code: str, found: list[Found], before: list[dict[str, str]]) -> Iterator[dict[str, str]]:
    """Each wording of a code; those of before stay where not every one is to be read from the source."""
    kinds = {name: of for one in found for name, of in one.params.items()}
    kinds |= dict(pair.split(":", 1) for row in before for pair in row["params"].split())
    sent = {name for one in found for name in one.params}
    built = [row for row in before if row["status"] == "built"]
    wordings = {text: one.severity for one in found for text in one.texts or ()}
    if any(one.texts is None for one in found):
        wordings |= {row["text"]: row["severity"] for row in before if row not in built}
    if not wordings and not built:
        wordings = {UNKNOWN if any(one.texts is None for one in found) else "": found[0].severity}
    for text, severity in wordings.items():
        names = sorted(sent | set(PLACEHOLDER.findall(text)))
        params = " ".join(f"{name}:{kinds.get(name, 'text')}" for name in names)
        yield {"kind": kind, "code": code, "severity": severity, "params": params, "status": "sent", "text": text}
    yield from built


def main() -> None:
    table = amended()
    with Path(str(TABLE)).open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, FIELDS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(table)


# Answers

LISTS = {"cautions": "caution", "findings": "finding", "steps": "step", "records": "record", "advice": "advice",
         "gains": "gain", "differs": "difference", "differences": "difference", "says": "sentence",
         "errors": "problem"}  # fmt: skip
"""Lists of an answer, and the kind of what they hold."""


def sent_by(answer: Any, kind: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Everything in an answer that has a code, with its kind."""
    if isinstance(answer, list):
        for one in answer:
            yield from sent_by(one, kind)
    elif isinstance(answer, dict):
        if kind and "code" in answer:
            yield kind, answer
        for name, inner in answer.items():
            yield from sent_by(inner, LISTS.get(name, ""))


KIND_OF = {"bar": "pressure", "psi": "pressure", "c": "temperature", "f": "temperature", "ml": "volume", "oz": "volume",
           "g": "mass", "min": "duration", "volumes": "co2", "m": "length", "ft": "length", "meq/l": "acidity",
           "g/ml": "density"}  # fmt: skip
"""Unit of a parameter, and its kind; g/l is of CO2, sugar or salt."""
OTHERS = {"finding": ("finding", "caution", "problem")}
"""A finding may carry the code of a caution or a refusal of the parts."""
OPEN = {
    "standard-refused": "ends with the first fault of the standard, and has the parameters of that fault",
}
"""Codes whose text and parameters are those of another one as well."""


@cache
def _listed() -> dict[tuple[str, str], Code]:
    return {(one.kind, one.code): one for one in codes() if not one.deprecated}


@cache
def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(".*".join(re.escape(part) for part in re.split(r"\{\w+\}", text)), re.DOTALL)


def unlisted(answer: Any) -> list[str]:
    """What an answer sends that the table does not list so: a code, a sentence, a parameter or its kind."""
    return [fault for kind, sent in sent_by(answer) for fault in _faults(kind, sent)]


def _faults(kind: str, sent: dict[str, Any]) -> Iterator[str]:
    keys = [(one, sent["code"]) for one in OTHERS.get(kind, (kind,))]
    known = [_listed()[key] for key in keys if key in _listed()]
    if not known:
        yield f"{kind} {sent['code']} is not listed: {sent.get('text') or sent.get('change')}"
        return
    if sent["code"] in OPEN:
        return
    text, params = sent.get("text") or sent.get("change") or "", sent.get("params")
    wordings = [(one.kind, wording) for one in known for wording in (one.text, *one.also) if wording]
    fitting = [(of, wording) for of, wording in wordings if _pattern(wording).fullmatch(text)]
    if wordings and not fitting:
        yield f"{kind} {sent['code']} has another text: {text}"
    names = {param["name"] for param in params or []}
    lacking = [set(PLACEHOLDER.findall(wording)) - names for of, wording in fitting if of != "problem"]
    if params is not None and lacking and all(lacking):  # of a problem the source fills in some itself
        yield f"{kind} {sent['code']} does not send {lacking[0]}, which its text holds"
    for param in params or []:
        kinds = {of for one in known for name, of in one.params if name == param["name"]}
        if not kinds:
            yield f"{kind} {sent['code']} sends {param['name']}, which is not listed"
        elif not kinds & (of := _kinds(param)):
            yield f"{kind} {sent['code']} sends {param['name']} as {of}, listed as {kinds}"


def _kinds(param: Mapping[str, Any]) -> set[str]:
    """The kinds that a parameter may be of, by its unit."""
    unit = param.get("unit")
    if unit == "g/l":
        return {"co2", "sugar", "salt"}
    return {KIND_OF.get(unit, unit) if unit else "number" if "value" in param else "text"}


if __name__ == "__main__":
    main()

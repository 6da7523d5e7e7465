"""The codes that the service sends, read from its source."""

import ast
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from service.notes import code_of, sentence_of
from tests.codes.reading import SERVICE, Scope, kind_of, params_of, texts


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
    "caution_for_all": Sender("caution", 0, 2, severity=1),
    "Fault": Sender("problem", 1, 2, params=3),
    "CellFault": Sender("problem", 2, 3, params=4),
    "Coded": Sender("problem", 0, 1),
    "fault": Sender("problem", 0, 1),
    "refuse": Sender("problem", 0, 1, params="keywords"),
    "_of_header": Sender("problem", 1, 2),
    "_unread": Sender("problem", 0, 1),
    "_most": Sender("problem", 4, 5),
    "_query_fault": Sender("problem", 1, 2),
    "add": Sender("step", 2, 3),
    "StepCaution": Sender("caution", 0, 2, severity=1, params=3),
    "StepValue": Sender("value", 0, 1, params=3),
    "Finding": Sender("finding", 0, 3, severity=1, params=5),
    "Advice": Sender("advice", 0, 1, params=2),
    "Gain": Sender("gain", 0, 1, params=3),
    "Difference": Sender("difference", 0, 5),
    "Differs": Sender("difference", 0, 2, params=5),
    "Change": Sender("change", 1, 2, params=3),
    "Saying": Sender("sentence", 0, 1, params=2),
    "Record": Sender("line", 0, 1),
    "Judgement": Sender("judgement", 0, 1, params=2),
    "Offer": Sender("offer", 0, 1, params=3),
    "assume": Sender("assumption", 0, 0, params="keywords"),
    "_stated": Sender("assumption", 2, 2),
    "_seconds": Sender("assumption", 2, 2),
    "_default": Sender("assumption", 2, 2),
}
"""What makes a code, by the name it is called by."""
NOT_SENDERS = {
    "add": lambda of: of.endswith("steps"),
    "caution": lambda of: of.endswith("notes"),
    "fault": lambda of: not of,
}
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

        if sender.kind == "assumption":
            self._assumed(argument(sender.code), args, keywords, line)
            return
        severity = texts(argument(sender.severity), self.scope)
        if sender.params == "keywords":
            params: dict[str, str] = {}
            for name, value in keywords.items():
                one = params_of(value, self.scope) if name.startswith("**") else {name: kind_of(value, self.scope)}
                params |= one if name not in ("at", "nearest") else {}
        else:
            params = params_of(keywords.get("params", argument(int(sender.params or 99))), self.scope)
        found = () if sender.text is None else texts(argument(sender.text), self.scope)
        for code in texts(argument(sender.code), self.scope) or ():
            if "{" not in code:
                where = f"{self.where}:{line}"
                self.found.append(Found(sender.kind, code, (severity or ("",))[0], found, params, where))

    def _assumed(
        self, name: ast.expr | None, args: list[ast.expr], keywords: Mapping[str, ast.expr], line: int
    ) -> None:
        """An assumption has its name for a code, but for a few, and its value among its parameters."""
        params = {one: "text" for one in keywords if one not in ("at", "code") and not one.startswith("**")}
        params["value"] = kind_of(args[1], self.scope) if len(args) > 1 else "text"
        own = texts(keywords.get("code"), self.scope)
        known = [one for one in texts(name, self.scope) or () if set(PUT_IN.findall(one)) <= params.keys()]
        for said in known:
            for code in own or (code_of(said),):
                where = f"{self.where}:{line}"
                self.found.append(Found("assumption", code, "", (sentence_of(said),), params, where))


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


@cache
def words() -> frozenset[str]:
    """Every text that stands in the source."""
    nodes = (node for path in SERVICE.rglob("*.py") for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    return frozenset(one.value for one in nodes if isinstance(one, ast.Constant) and isinstance(one.value, str))


PUT_IN = re.compile(r"\{(\w+)\}")
MOST_NAME = 100
"""No name of an assumption is longer."""
BUILT = re.compile(r"handling-h[0-9]{3}|(?:label|serve)-[a-z-]+|air-[a-z]+")
"""Codes that stand nowhere in the source as they are sent: one for each hazard statement of the acids, for each line of
a label, for each word of how a drink is served and for each way to take the air out."""


def stands_in_source(code: str) -> bool:
    """Whether the source holds a code, or a rule that makes it."""
    return code in words() or code in _named() or BUILT.fullmatch(code) is not None


@cache
def _named() -> frozenset[str]:
    """Every text of the source as the code of an assumption; of references, the names of fields are put in."""
    by_reference = (f"{one}, by reference" for one in words())
    return frozenset(code_of(one) for one in (*words(), *by_reference) if len(one) <= MOST_NAME)

"""The codes that the service sends, read from its source."""

import ast
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from service.notes import code_of, sentence_of
from service.science.acids import HAZARD_STATEMENTS
from tests.codes.reading import SERVICE, Scope, by_code, glued, kind_of, pairs_of, params_of, tables_of, texts


@dataclass(frozen=True)
class Sender:
    """Where in a call its code, severity, text and params stand; None where it has none."""

    kind: str
    code: int
    text: int | None = None
    severity: int | None = None
    params: int | str | None = None
    table: str = ""
    """Name of the table that holds the texts by their codes, where the call has none of them."""


SENDERS = {
    "caution": Sender("caution", 0, 2, severity=1, params="keywords"),
    "caution_for_all": Sender("caution", 0, 2, severity=1),
    "Fault": Sender("problem", 1, 2, params=3),
    "CellFault": Sender("problem", 2, 3, params=4),
    "Coded": Sender("problem", 0, 1, params="keywords"),
    "__new__": Sender("problem", 1, 2),
    "fault": Sender("problem", 0, 1, params="keywords"),
    "refuse": Sender("problem", 0, 1, params="keywords"),
    "RequestProblem": Sender("detail", 0, 1),
    "_of_header": Sender("problem", 1, 2),
    "_unread": Sender("problem", 0, 1),
    "add": Sender("step", 2, 3),
    "StepCaution": Sender("caution", 0, 2, severity=1, params=3),
    "StepValue": Sender("value", 0, 1, params=3),
    "Finding": Sender("finding", 0, 3, severity=1, params=5),
    "Advice": Sender("advice", 0, 1, params=2),
    "Tried": Sender("advice", 0, 1, params=2),
    "Gain": Sender("gain", 0, 1, params=3),
    "Served": Sender("gain", 0, 1, params=2),
    "Sensitivity": Sender("sensitivity", 0, 1, params=3),
    "Difference": Sender("difference", 0, table="_DIFFERS"),
    "Differs": Sender("difference", 0, 2, params=5),
    "Change": Sender("change", 1, 2, params=3),
    "Saying": Sender("sentence", 0, 1, params=2),
    "Record": Sender("line", 0, 1),
    "LabelLine": Sender("line", 0, 1),
    "Judgement": Sender("judgement", 0, 1, params=2),
    "Bottleneck": Sender("bottleneck", 0, 1, params=2),
    "Relief": Sender("relief", 0, 1, params=2),
    "_asked_for": Sender("basis", 1, 2, params=3),
    "Task": Sender("task", 2, 3, params=8),
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
    "__new__": lambda of: of == "super()",
}
"""Where that name alone does not tell, what it is called on."""


HANDLING = "handling-{code}"
"""The code of what an acid does to who handles it: one for each row of hazards.csv."""


def _codes(code: str, severity: str) -> list[tuple[str, str]]:
    """Return the codes, each with its severity, that one place sends; none where they cannot be read from there."""
    if code == HANDLING:
        return [(code.format(code=one.lower()), said.severity) for one, said in HAZARD_STATEMENTS.items()]
    return [] if "{" in code else [(code, severity)]


@dataclass
class Found:
    """The code and texts that one place of the source sends. texts: None where they cannot be read from there."""

    kind: str
    code: str
    severity: str
    texts: tuple[str, ...] | None
    params: dict[str, str]
    where: str
    glued: bool = False
    more: bool = False
    """Whether it sends parameters that are not to be read from there."""
    words: tuple[str, ...] = ()
    """Words of ours that it is told with: name and value of an assumption."""


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
            more = any(name.startswith("**") and not params_of(value, self.scope) for name, value in keywords.items())
        else:
            given = keywords.get("params", argument(int(sender.params or 99)))
            params = params_of(given, self.scope)
            more = given is not None and not params and ast.unparse(given) not in ("{}", "()")
        where, text = f"{self.where}:{line}", argument(sender.text)
        kind, of = sender.kind, (severity or ("",))[0]
        code = argument(sender.code)
        for own, wording in self._from_table(sender, code, text):
            self.found.append(Found(kind, own, of, (wording,), params, where, more=more))
        if sender.table or by_code(code, text, self.scope) or (sender.kind == "detail" and text is None):
            return
        found = () if sender.text is None else texts(text, self.scope)
        put_together = glued(text, self.scope)
        for own in texts(code, self.scope) or ():
            for each, worst in _codes(own, of):
                self.found.append(Found(kind, each, worst, found, params, where, put_together, more=more))

    def _from_table(self, sender: Sender, code: ast.expr | None, text: ast.expr | None) -> list[tuple[str, str]]:
        if sender.table:
            tables = tables_of(ast.Name(sender.table, ast.Load(), lineno=10**6), self.scope.top)
            return [pair for table in tables for pair in pairs_of(table)]
        return by_code(code, text, self.scope)

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
                put_together, words = glued(name, self.scope), (said, *self._words(args))
                self.found.append(
                    Found("assumption", code, "", (sentence_of(said),), params, where, put_together, words=words)
                )

    def _words(self, args: list[ast.expr]) -> tuple[str, ...]:
        """Words of ours that the value of an assumption is, and its remark."""
        value, remark = ([each for each in some if not glued(each, self.scope)] for some in (args[1:2], args[3:4]))
        words = [word for each in value for word in texts(each, self.scope) or ()]
        return (*words, *(word for each in remark for word in texts(each, self.scope) or () if " " in word))


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


PUT_IN = re.compile(r"\{(\w+)\}")

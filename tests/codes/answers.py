"""Codes that answers send, held against service/codes.csv."""

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from service.api.words import LANGUAGES, Language, in_language
from service.codes import Code, codes
from tests.codes.__main__ import PLACEHOLDER

LISTS = {
    "cautions": "caution", "findings": "finding", "steps": "step", "values": "value", "records": "line",
    "lines": "line", "advice": "advice", "gains": "gain", "differs": "difference", "differences": "difference",
    "says": "sentence", "errors": "problem", "assumptions": "assumption", "sensitivities": "sensitivity",
    "judgement": "judgement", "offers": "offer", "refused": "problem", "changes": "change", "timetable": "task",
    "ahead": "task", "in_service": "task", "basis": "basis", "bottleneck": "bottleneck", "relief": "relief",
}  # fmt: skip
"""Fields of an answer, and the kind of what they hold."""


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
"""Unit of a parameter, and its kind; g/l is of CO2, sugar or salt, and any other goes with a number."""
OTHERS = {"finding": ("finding", "caution", "problem"), "value": ("value", "line"), "task": ("task", "step")}
"""A finding may carry the code of a caution or a refusal of the parts; the step that labels, lines of the label; a task
of an evening is a step of a sheet."""
OF_A_LOT = {"name": "vessels", "kind": "number"}
"""What a task of an evening is sent with beside what its step is: how many vessels it is for."""


@cache
def _listed() -> dict[tuple[str, str], Code]:
    return {(one.kind, one.code): one for one in codes() if not one.deprecated}


@cache
def _pattern(text: str) -> re.Pattern[str]:
    parts = [part.replace("{{", "{").replace("}}", "}") for part in re.split(r"\{\w+\}", text)]
    return re.compile(".*".join(map(re.escape, parts)), re.DOTALL)


def unlisted(answer: Any) -> list[str]:
    """Return each part of an answer that the table does not list: a code, a sentence, a parameter or its kind."""
    return [fault for kind, sent in sent_by(answer) for fault in _faults(kind, sent)]


def _told(wording: str, language: Language) -> tuple[str, ...]:
    """Return a sentence in a language, and with the English beside it, as dangers and refusals are told."""
    said = in_language(wording, language)
    return said, f"{said} / {wording}"


def _faults(kind: str, sent: dict[str, Any]) -> Iterator[str]:
    keys = [(one, sent["code"]) for one in OTHERS.get(kind, (kind,))]
    known = [_listed()[key] for key in keys if key in _listed()]
    if not known:
        yield f"{kind} {sent['code']} is not listed: {_sentence(kind, sent)}"
        return
    text, params = _sentence(kind, sent), sent.get("params", [] if kind == "value" else None)
    english = [(one.kind, wording) for one in known for wording in (one.text, *(one.also or ())) if wording]
    wordings = [(of, said) for of, wording in english for language in LANGUAGES for said in _told(wording, language)]
    fitting = [(of, wording) for of, wording in wordings if _pattern(wording).fullmatch(text)]
    if wordings and not fitting:
        yield f"{kind} {sent['code']} has another text: {text}"
    names = {param["name"] for param in params or []}
    lacking = [set(PLACEHOLDER.findall(wording)) - names for of, wording in fitting if of != "problem"]
    if params is not None and lacking and all(lacking):  # of a problem the source fills in some itself
        yield f"{kind} {sent['code']} does not send {lacking[0]}, which its text holds"
    for param in params or []:
        if kind == "task" and param["name"] == OF_A_LOT["name"] and _kinds(param) == {OF_A_LOT["kind"]}:
            continue
        kinds = {
            each
            for one in known
            for listed in one.params
            for each in listed.kind.split("|")
            if listed.name == param["name"]
        }
        if not kinds:
            yield f"{kind} {sent['code']} sends {param['name']}, which is not listed"
        elif not kinds & (of := _kinds(param)):
            yield f"{kind} {sent['code']} sends {param['name']} as {of}, listed as {kinds}"


def _sentence(kind: str, sent: Mapping[str, Any]) -> str:
    """The words of what is sent; of a value or a line of paper, what it is a value of."""
    named = kind in ("value", "line")
    return str((sent.get("name") or sent.get("point")) if named else sent.get("text") or sent.get("change") or "")


def _kinds(param: Mapping[str, Any]) -> set[str]:
    """The kinds that a parameter may be of, by its unit."""
    unit = param.get("unit")
    if unit == "g/l":
        return {"co2", "sugar", "salt", "number"}
    return {KIND_OF.get(unit, "number") if "value" in param else "text"}

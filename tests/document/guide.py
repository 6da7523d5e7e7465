"""The exchanges of the integrator's guide: the requests that stand in it, and what it shows of their answers."""

import json
import re
from dataclasses import dataclass
from typing import Any

from service.api.openapi.paths import FOLDER

GUIDE = FOLDER / "GUIDE.md"
_BLOCK = re.compile(r"^```(\w+)(?: ([\w-]+))?(?: (answer|POST) ?(\S*))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Exchange:
    """One request of the guide. shown: the part of its answer that stands there, as text."""

    name: str
    path: str
    request: Any
    shown: str


def exchanges() -> list[Exchange]:
    """All of them: a block `json NAME POST PATH`, or of csv, is a request, `json NAME answer` shows of its answer."""
    blocks = _BLOCK.findall(GUIDE.read_text(encoding="utf-8"))
    shown = {name: text for _, name, what, _, text in blocks if what == "answer"}
    return [
        Exchange(name, path, text if form == "csv" else json.loads(text), shown[name])
        for form, name, what, path, text in blocks
        if what == "POST"
    ]


def programs(language: str) -> list[str]:
    """The blocks of the guide in a programming language."""
    return [text for of, _, what, _, text in _BLOCK.findall(GUIDE.read_text(encoding="utf-8")) if of == language]

"""Every operation of the API document with a request that fits it, for the clients generated from the document."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from tests.running import ROOT

DOCUMENT = ROOT / "openapi/openapi.json"
EXAMPLES = ROOT / "openapi/examples"
KEY = "the-key-of-these-generated-clients-and-no-other"
LOCKED = {"AUTH": "", "API_KEY_HASHES": sha256(KEY.encode()).hexdigest()}
METHODS = ("get", "put", "post", "delete", "patch")


@dataclass(frozen=True)
class Operation:
    """One call: parameters from the document's own examples, the body from its committed example; a text is a table."""

    name: str  # operationId in kebab case
    identifier: str
    tag: str
    method: str
    path: str
    parameters: dict[str, dict[str, Any]]  # by place: path, query
    body: dict[str, Any] | str | None
    json: bool  # the first content type of its 2xx answer is JSON


def operations() -> Iterator[Operation]:
    """Return all of them, in the document's order."""
    document = json.loads(DOCUMENT.read_text())
    for path, item in document["paths"].items():
        shared = item.get("parameters", [])
        for method in METHODS:
            if method in item:
                yield _operation(document, path, method, item[method], shared)


def _operation(document: Any, path: str, method: str, spec: Any, shared: list[Any]) -> Operation:
    name = kebab(spec["operationId"])
    parameters: dict[str, dict[str, Any]] = {}
    for each in (_resolve(document, given) for given in [*shared, *spec.get("parameters", [])]):
        if each.get("required"):
            parameters.setdefault(each["in"], {})[each["name"]] = _example(document, each)
    body = _body(name) if "requestBody" in spec else None
    status = next(s for s in sorted(spec["responses"]) if s.startswith("2"))
    content = _resolve(document, spec["responses"][status]).get("content", {})
    is_json = next(iter(content), "") == "application/json"
    return Operation(name, spec["operationId"], spec["tags"][0], method, path, parameters, body, is_json)


def _body(name: str) -> dict[str, Any] | str:
    (path,) = EXAMPLES.glob(f"{name}.*")
    text = path.read_bytes().decode()  # line ends as they are
    found: dict[str, Any] | str = json.loads(text) if path.suffix == ".json" else text
    return found


def _example(document: Any, parameter: Any) -> Any:
    schema = _resolve(document, parameter["schema"])
    named = parameter.get("examples", {})
    candidates = [
        parameter.get("example"),
        *(_resolve(document, e)["value"] for e in named.values()),
        schema.get("example"),
        schema.get("default"),
        *schema.get("examples", []),
        *schema.get("enum", []),
    ]
    return next(value for value in candidates if value is not None)


def _resolve(document: Any, node: Any) -> Any:
    while "$ref" in node:
        pointer = node["$ref"].removeprefix("#/").split("/")
        node = document
        for part in pointer:
            node = node[part.replace("~1", "/").replace("~0", "~")]
    return node


def kebab(identifier: str) -> str:
    """`createPrepSheet`, `create_prep_sheet` and `create-prep-sheet` alike as `create-prep-sheet`."""
    return re.sub(r"(?<=[a-z0-9])(?=[A-Z])|_", "-", identifier).lower()

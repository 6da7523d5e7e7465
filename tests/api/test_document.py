"""The OpenAPI document: complete, bounded, and what it shows as examples is what the service does."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from service.api.app import OPERATIONS, create_app
from service.api.openapi import document, render
from service.api.openapi.paths import FOLDER
from service.api.problems import TYPES
from service.api.references import REFERENCES
from tests.api.conforms import conforms
from tests.asking import as_sent
from tests.document import answers

DOCUMENT = document(OPERATIONS, REFERENCES)
OF = {of["operationId"]: of for item in DOCUMENT["paths"].values() for of in item.values()}
ANSWERS = dict(answers.every())
NOISE = 1e-7
"""Another machine's mathematical library may differ in its last digit, and a pressure near none is a difference."""
OF_THE_PROXY_OR_METHOD = {405, 414, 417, 431}
"""Statuses that belong to no operation."""

every_operation = pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.operation_id)
everything = pytest.mark.parametrize("name", OF)


def test_what_is_answered_is_what_is_built():
    """The service answers the file that is committed."""
    answer = create_app({"AUTH": "open"}).test_client().get("/openapi.json")
    assert answer.get_data(as_text=True) == render(OPERATIONS, REFERENCES)


def resolved(node: Any) -> Any:
    while "$ref" in node:
        target: Any = DOCUMENT
        for token in node["$ref"].removeprefix("#/").split("/"):
            target = target[token]
        node = target
    return node


def parts(schema: Any, at: str, seen: frozenset[str] = frozenset()) -> Iterator[tuple[str, Any]]:
    """A schema and everything in it, each with where it stands; a component once on every way."""
    if (ref := schema.get("$ref")) is not None:
        if ref in seen:
            return
        seen |= {ref}
    schema = resolved(schema)
    yield at, schema
    for name, inner in schema.get("properties", {}).items():
        yield from parts(inner, f"{at}/{name}", seen)
    for keyword in ("items", "additionalProperties"):
        if isinstance(schema.get(keyword), dict):
            yield from parts(schema[keyword], f"{at}/{keyword}", seen)


def asked() -> Iterator[tuple[str, Any]]:
    """Everything that a request may hold."""
    for name, of in OF.items():
        for parameter in of.get("parameters", []):
            yield from parts(parameter["schema"], f"{name}?{parameter['name']}")
        if "requestBody" in of:
            for media in of["requestBody"]["content"].values():
                yield from parts(media["schema"], name)


def unbounded(schema: Any) -> str:
    """Name the bound that a schema lacks, "" where it lacks none."""
    lowest, highest = {"minimum", "exclusiveMinimum"}, {"maximum", "exclusiveMaximum"}
    match schema.get("type"):
        case "object":
            mapped = isinstance(schema.get("additionalProperties"), dict) and "maxProperties" in schema
            return "" if schema.get("additionalProperties") is False or mapped else "open object"
        case "string":
            return "" if schema.keys() & {"enum", "const", "maxLength"} else "endless string"
        case "number" | "integer":
            return "" if schema.keys() & lowest and schema.keys() & highest else "unbounded number"
        case "array":
            return "" if "maxItems" in schema else "endless list"
        case "boolean":
            return ""
        case other:
            return f"type {other!r}"


def test_requests_are_closed_and_bounded_everywhere():
    found = list(asked())
    assert len(found) > 1000  # the walk reaches the parts
    assert [f"{at}: {what}" for at, schema in found if (what := unbounded(schema))] == []


def test_choices_are_objects_of_one_property():
    """Generated clients must type them plainly."""
    text = json.dumps(DOCUMENT)
    assert [word for word in ("oneOf", "anyOf", "allOf", "discriminator", '"null"', '"..."') if word in text] == []


@everything
def test_an_operation_says_what_it_is(name):
    of = OF[name]
    assert of["summary"].endswith(".")
    assert of["description"]
    assert set(of["tags"]) <= {tag["name"] for tag in DOCUMENT["tags"]}
    assert all(parameter["description"] for parameter in of.get("parameters", []))
    for status, response in of["responses"].items():
        assert {"X-Request-Id", "Access-Control-Allow-Origin"} <= resolved(response)["headers"].keys(), status


def test_every_component_says_what_it_is():
    assert [name for name, schema in DOCUMENT["components"]["schemas"].items() if not schema.get("description")] == []


def test_operation_ids_are_used_once():
    assert len(OF) == sum(len(item) for item in DOCUMENT["paths"].values())


@everything
def test_examples_fit_their_schemas(name):
    of = OF[name]
    contents = [resolved(response).get("content", {}) for response in of["responses"].values()]
    shown = 0
    for content in [*contents, of.get("requestBody", {}).get("content", {})]:
        for media in content.values():
            validator = Draft202012Validator({**media["schema"], "components": DOCUMENT["components"]})
            for example in media.get("examples", {}).values():
                assert [error.message for error in validator.iter_errors(example["value"])] == []
                shown += 1
    assert shown >= 5


@everything
def test_request_and_answer_have_an_example(name):
    of = OF[name]
    if "requestBody" in of:
        assert all(media["examples"] for media in of["requestBody"]["content"].values())
    answer = next(iter(of["responses"]["200"]["content"].values()))
    assert "examples" in answer or name == "getOpenapi"


@pytest.mark.parametrize("name", ANSWERS)
def test_what_is_shown_as_an_answer_is_todays(name):
    """`make openapi` writes them anew. That they are right is proved elsewhere: `PROVED` in tests/test_golden.py."""
    stored = json.loads((FOLDER / "answers" / f"{name}.json").read_text(encoding="utf-8"))
    assert differences(stored, ANSWERS[name]) == []


def test_no_answer_is_left_of_what_is_gone():
    assert {path.stem for path in (FOLDER / "answers").glob("*.json")} == set(ANSWERS)


@pytest.fixture(scope="module")
def in_spanish() -> dict[str, dict[str, str]]:
    return dict(answers.in_spanish())


def test_sentences_in_spanish_are_those_that_were_kept(in_spanish):
    """`make openapi` writes them anew; what changed is read before it is committed."""
    kept = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in answers.SPANISH.glob("*.json")}
    assert differences(kept, in_spanish) == []
    assert sum(len(texts) for texts in kept.values()) > 1000


OTHERWISE = ("create-rollout",)
"""Told in the languages of its sites."""


@pytest.mark.parametrize("name", [one for one in answers.NAMES if one not in OTHERWISE])
def test_no_sentence_of_an_answer_stays_in_english(name, in_spanish):
    """Look at objects with a text and no name, which are sentences; with a name the text is a figure."""
    assert [f"{at}: {text}" for at, text in _told(ANSWERS[name]) if at not in in_spanish[name]] == []


def _told(node: Any, at: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(node, list):
        for i, inner in enumerate(node):
            yield from _told(inner, f"{at}/{i}")
    elif isinstance(node, dict):
        if isinstance(node.get("text"), str) and "name" not in node:
            yield f"{at}/text", node["text"]
        for name, inner in node.items():
            yield from _told(inner, f"{at}/{name}")


def differences(stored: Any, now: Any, at: str = "") -> list[str]:
    """Where two JSON documents differ by more than rounding."""
    if isinstance(stored, dict) and isinstance(now, dict) and stored.keys() == now.keys():
        return [d for key in stored for d in differences(stored[key], now[key], f"{at}/{key}")]
    if isinstance(stored, list) and isinstance(now, list) and len(stored) == len(now):
        return [d for i, pair in enumerate(zip(stored, now, strict=True)) for d in differences(*pair, f"{at}/{i}")]
    if type(stored) is type(now) is float:
        return [] if stored == pytest.approx(now, rel=NOISE) else [f"{at}: {stored} is now {now}"]
    return [] if stored == now else [f"{at}: {stored!r} is now {now!r}"]


@every_operation
def test_a_whole_answer_is_what_the_document_promises(operation):
    conforms(operation.operation_id, ANSWERS[answers.kebab(operation.operation_id)])


def test_every_problem_type_is_documented():
    of = OF["getProblemType"]
    (slug,) = of["parameters"]
    assert slug["schema"]["enum"] == sorted(TYPES)
    for name, kind in TYPES.items():
        assert f"| `{name}` | {kind.status} | {kind.title}. {kind.explanation} |" in of["description"]
    responses = [resolved(r) for other in OF.values() for r in other["responses"].values()]
    said = " ".join(response["description"] for response in responses)
    assert [
        name for name, kind in TYPES.items() if kind.status not in OF_THE_PROXY_OR_METHOD and name not in said
    ] == []


@pytest.mark.parametrize(
    "status, header", [("401", "WWW-Authenticate"), ("429", "Retry-After"), ("503", "Retry-After")]
)
def test_problems_say_which_headers_come_with_them(status, header):
    for operation in OPERATIONS:
        assert header in resolved(OF[operation.operation_id]["responses"][status])["headers"]


@pytest.mark.parametrize("keys", ["", "0" * 64], ids=["open", "locked"])
def test_the_headers_of_the_document_are_those_that_come(keys):
    client = create_app({"API_KEY_HASHES": keys} if keys else {"AUTH": "open"}).test_client()
    for path, item in DOCUMENT["paths"].items():
        for method, of in item.items():
            address = path.replace("{slug}", "internal")
            taken = of.get("requestBody", {}).get("content", {}).values()
            body = {key: value for media in taken for key, value in as_sent(media["examples"]["demo"]["value"]).items()}
            answer = client.open(address, method=method.upper(), **body)
            promised = resolved(of["responses"][str(answer.status_code)])["headers"].keys()
            assert promised - answer.headers.keys() <= {"Access-Control-Allow-Origin"}, path


def test_whoever_needs_a_key_is_told_so():
    assert DOCUMENT["components"]["securitySchemes"]["key"]["scheme"] == "bearer"
    assert DOCUMENT["security"] == [{"key": []}]
    open_to_all = {name for name, of in OF.items() if of.get("security") == []}
    assert open_to_all == {"getHealth", "getReadiness", "getOpenapi", "getProblemType", "listProblemTypes"}
    assert all("401" in of["responses"] for name, of in OF.items() if name not in open_to_all)

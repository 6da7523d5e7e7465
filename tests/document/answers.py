"""Asks the service for what its document shows as answers, and for their sentences in Spanish.

`python -m tests.document.answers` writes both. The second set guards the catalogues: what changed in translation shows.
"""

import json
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

from flask import Flask, g

from service.api import problems
from service.api.answers import Answer
from service.api.app import OPERATIONS, create_app
from service.api.openapi.paths import FOLDER, example, kebab
from service.limits.requests import LARGEST_BODY
from tests.asking import as_sent
from tests.document.guide import exchanges

EXCHANGE = "till-4.2031"
HEADERS = {"X-Request-Id": EXCHANGE}
SPANISH = Path(__file__).parent / "spanish"
NAMES = tuple(kebab(operation.operation_id) for operation in OPERATIONS)
"""Files of the answers to the examples of the document."""
BY_THE_PROXY = ("bad-request", "uri-too-long", "too-many-requests", "unavailable", "internal")
"""Problems that no request brings about here; the texts are those of their types."""


def every() -> Iterator[tuple[str, Any]]:
    """Each file of openapi/answers by its name, and what belongs in it."""
    app = create_app({"AUTH": "open"})
    client = app.test_client()
    for operation in OPERATIONS:
        answer = client.post(operation.path, **as_sent(example(operation.operation_id)))
        yield kebab(operation.operation_id), answer.get_json()
    for exchange in exchanges():
        answer = client.post(exchange.path, **as_sent(exchange.request), headers=HEADERS)
        yield f"guide-{exchange.name}", answer.get_json()
    for slug, found in (_asked() | _by_the_proxy(app)).items():
        yield f"problem-{slug}", found


def _asked(language: str = "en") -> dict[str, Any]:
    """Problems of the service itself, each brought about by a request that is wrong."""
    client = create_app({"AUTH": "open"}).test_client()
    locked = create_app({"API_KEY_HASHES": "0" * 64}).test_client()
    path, right = "/v1/carbonation/set-points", example("createSetPoints")
    too_much = deepcopy(right) | {"target": {"value": 14, "unit": "g/l"}}
    wrong = deepcopy(right) | {"units": "furlongs", "colour": "red", "fill": 1.2}
    headers = {**HEADERS, "Accept-Language": language}
    asking: dict[str, Any] = {"path": path, "content_type": "application/json", "headers": headers}
    return {
        "invalid-json": client.post(**asking, data='{"units": "us", "units": "metric"}').get_json(),
        "invalid-csv": client.post(
            path="/v1/spec-sheets",
            content_type="text/csv",
            headers=headers,
            data=b'spec,component,amount,unit\r\n"Quarry Lane',
        ).get_json(),
        "invalid-query": client.post(**asking, json=right, query_string="columns=40").get_json(),
        "unauthorized": locked.post(**asking, json=right).get_json(),
        "not-found": client.get("/problems/nonsense", headers=headers).get_json(),
        "not-acceptable": client.post(**asking, json=right, query_string="format=pdf").get_json(),
        "precondition-failed": client.get(
            "/v1/references/units", headers={**headers, "If-Match": '"of-yesterday"'}
        ).get_json(),
        "body-too-large": client.post(**asking, data=b" " * (LARGEST_BODY + 1)).get_json(),
        "unsupported-media-type": client.post(**{**asking, "content_type": "text/plain"}, data="6 g/l").get_json(),
        "invalid-request": client.post(**asking, json=wrong).get_json(),
        "model-not-available": client.post(**asking, json=right | {"model": "1999.1.0"}).get_json(),
        "over-vessel-limit": client.post(**asking, json=too_much).get_json(),
    }


def _by_the_proxy(app: Flask) -> dict[str, Any]:
    with app.app_context():
        g.request_id = EXCHANGE
        plain = Answer("metric")
        return {slug: problems.document(slug, problems.TYPES[slug].explanation, plain) for slug in BY_THE_PROXY}


def in_spanish() -> Iterator[tuple[str, dict[str, str]]]:
    """Each answer to an example, and each problem, by its name: its texts that are not as in English, by pointer."""
    client = create_app({"AUTH": "open"}).test_client()
    for operation in OPERATIONS:
        sent = as_sent(example(operation.operation_id))
        english, spanish = (
            client.post(operation.path, **sent, headers={"Accept-Language": language}).get_json()
            for language in ("en", "es")
        )
        yield kebab(operation.operation_id), dict(_told_otherwise(english, spanish))
    english, spanish = _asked(), _asked("es")
    for slug, problem in english.items():
        yield f"problem-{slug}", dict(_told_otherwise(problem, spanish[slug]))


def _told_otherwise(english: Any, other: Any, at: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(english, dict):
        for name, inner in english.items():
            yield from _told_otherwise(inner, other[name], f"{at}/{name}")
    elif isinstance(english, list):
        for i, (inner, one) in enumerate(zip(english, other, strict=True)):
            yield from _told_otherwise(inner, one, f"{at}/{i}")
    elif english != other:
        yield at, other


def main() -> None:
    _keep(FOLDER / "answers", every())
    _keep(SPANISH, in_spanish())


def _keep(folder: Path, answers: Iterator[tuple[str, Any]]) -> None:
    folder.mkdir(exist_ok=True)
    written = {folder / f"{name}.json": body for name, body in answers}
    for stale in set(folder.glob("*.json")) - written.keys():
        stale.unlink()
    for path, body in written.items():
        path.write_text(json.dumps(body, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

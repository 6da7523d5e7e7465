"""Asks the service for what its document shows as answers. `python -m tests.document.answers` writes them."""

import json
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

from flask import Flask, g

from service.api import problems
from service.api.app import OPERATIONS, create_app
from service.api.openapi.paths import FOLDER, example, kebab
from service.limits.requests import LARGEST_BODY
from tests.asking import as_sent
from tests.document.guide import exchanges

EXCHANGE = "till-4.2031"
JSON = {"content_type": "application/json", "headers": {"X-Request-Id": EXCHANGE}}
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
        answer = client.post(exchange.path, **as_sent(exchange.request), headers=JSON["headers"])
        yield f"guide-{exchange.name}", answer.get_json()
    for slug, found in (_asked() | _by_the_proxy(app)).items():
        yield f"problem-{slug}", found


def _asked() -> dict[str, Any]:
    """Problems of the service itself, each brought about by a request that is wrong."""
    client = create_app({"AUTH": "open"}).test_client()
    locked = create_app({"API_KEY_HASHES": "0" * 64}).test_client()
    path, right = "/v1/carbonation/set-points", example("createSetPoints")
    too_much = deepcopy(right) | {"target": {"value": 14, "unit": "g/l"}}
    wrong = deepcopy(right) | {"units": "furlongs", "colour": "red", "fill": 1.2}
    asking: dict[str, Any] = {"path": path, **JSON}
    return {
        "invalid-json": client.post(**asking, data='{"units": "us", "units": "metric"}').get_json(),
        "invalid-csv": client.post(
            path="/v1/spec-sheets",
            content_type="text/csv",
            headers=JSON["headers"],
            data=b'spec,component,amount,unit\r\n"Quarry Lane',
        ).get_json(),
        "invalid-query": client.post(**asking, json=right, query_string="columns=40").get_json(),
        "unauthorized": locked.post(**asking, json=right).get_json(),
        "not-found": client.get("/problems/nonsense", headers=JSON["headers"]).get_json(),
        "not-acceptable": client.post(**asking, json=right, query_string="format=pdf").get_json(),
        "precondition-failed": client.get(
            "/v1/references/units", headers={"X-Request-Id": EXCHANGE, "If-Match": '"of-yesterday"'}
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
        return {slug: problems.document(slug, problems.TYPES[slug].explanation) for slug in BY_THE_PROXY}


def main() -> None:
    folder = FOLDER / "answers"
    folder.mkdir(exist_ok=True)
    written = {folder / f"{name}.json": body for name, body in every()}
    for stale in set(folder.glob("*.json")) - written.keys():
        stale.unlink()
    for path, body in written.items():
        path.write_text(json.dumps(body, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

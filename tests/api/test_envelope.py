"""What every answer says beside its numbers: safety, assumptions, sentences with their parameters."""

import json
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.api.app import OPERATIONS
from service.api.openapi.paths import examples
from tests.api.nearest import objects
from tests.asking import as_sent

UNDER_PRESSURE = {
    "createSetPoints", "createReading", "createCharges", "createGasSupply", "createRegasForecast", "createRegasState",
    "createCalibration", "createPrepSheet", "createRollout", "createChillPlan", "createDraughtLine",
    "createServicePlan",
}  # fmt: skip
"""Operations that answer about pressure; the others are about a batch, its acid or its spec. What is chilled may be
charged, and ice bursts it."""
REQUESTS = [
    pytest.param(operation, shown["value"], id=f"{operation.operation_id}-{about}")
    for operation in OPERATIONS
    for about, shown in examples(operation.operation_id).items()
]
every_example = pytest.mark.parametrize("operation, request_body", REQUESTS)


def answered(client: FlaskClient, path: str, body: Any) -> Any:
    response = client.post(path, **as_sent(body))
    assert response.status_code == 200, response.get_json()
    return response.get_json()


@every_example
def test_safety_stands_in_every_answer_about_pressure_and_in_no_other(
    client: FlaskClient, operation: Any, request_body: Any
) -> None:
    answer = answered(client, operation.path, request_body)
    assert ("safety" in answer) == (operation.operation_id in UNDER_PRESSURE)
    if "safety" in answer:
        assert set(answer["safety"]) == {"text", "href"}
        assert answer["safety"]["href"] == "/v1/references/safety-rules"
        for words in ("maker's rating", "local code", "competent person", "arithmetic, not approval"):
            assert words in answer["safety"]["text"]
    assert [one for one in objects(answer) if "safety" in one] == ([answer] if "safety" in answer else [])


def test_safety_is_in_the_lines_of_a_rollout_too(client: FlaskClient) -> None:
    body = examples("createRollout")["demo"]["value"]
    lines = client.post("/v1/rollouts?format=ndjson", json=body).get_data(as_text=True).splitlines()
    assert [line for line in map(json.loads, lines) if "safety" in line]


@every_example
def test_what_safety_holds_for_all_such_work_is_no_caution(
    client: FlaskClient, operation: Any, request_body: Any
) -> None:
    """What is so every night stands in the safety rules; a caution is about this request."""
    nightly = {"goggles", "regulator-order", "metal-contact", "warm-vehicle", "bottle-unattended", "nucleation",
               "regulator-unknown", "rests-on-gas", "read-at-rest"}  # fmt: skip
    answer = answered(client, operation.path, request_body)
    assert {caution["code"] for one in objects(answer) for caution in one.get("cautions", ())} & nightly == set()


@every_example
def test_a_sentence_comes_with_its_code_and_its_figures(client: FlaskClient, operation: Any, request_body: Any) -> None:
    """Assumptions, cautions, advice and gains: each parameter is shown in the text as it stands in params."""
    answer = answered(client, operation.path, request_body)
    sentences = [
        sentence
        for one in objects(answer)
        for name in ("assumptions", "cautions", "advice", "gains", "sensitivities")
        for sentence in one.get(name, ())
    ]
    assert sentences or operation.operation_id in ("createAcidEquivalents", "createSpecCheck")
    for sentence in sentences:
        assert {"code", "text", "params"} <= sentence.keys(), sentence
        assert sentence["code"] == sentence["code"].strip("-").lower()
        assert " " not in sentence["code"]
        assert sentence["text"]
        assert "{" not in sentence["text"]
        for one in sentence["params"]:
            assert one["text"] in sentence["text"], sentence
            assert ("unit" not in one) or "value" in one


@every_example
def test_an_assumption_says_what_was_assumed(client: FlaskClient, operation: Any, request_body: Any) -> None:
    answer = answered(client, operation.path, request_body)
    for one in answer["assumptions"]:
        assert one["value"] in one["text"], one
        if "quantity" in one:
            assert one["quantity"]["value"] == next(p["value"] for p in one["params"] if "value" in p)


REFUSED: list[tuple[str, str, dict[str, Any]]] = [
    ("createCharges", "over-vessel-limit", {"target": {"value": 9, "unit": "g/l"}}),
    ("createCharges", "no-headspace", {"fill": 0.95}),
    ("createCharges", "vessel-refused", {"vessel": {"preset": "pet-1-l", "cycles": 12}}),
    ("createCharges", "too-warm", {"temperature": {"value": 15, "unit": "c"}}),
    ("createSetPoints", "would-freeze", {"temperatures": [{"value": -9, "unit": "c"}]}),
    ("createReading", "too-warm", {"temperature": {"value": 60, "unit": "c"}}),
    ("createRegasForecast", "pour-too-large", {"pour": {"volume": {"value": 1.5, "unit": "l"}}}),
]


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name, slug, change", REFUSED)
def test_an_error_comes_with_its_figures(
    client: FlaskClient, name: str, slug: str, change: dict[str, Any], units: str
) -> None:
    """What its text shows stands in params, and what an offer shows in those of the offer."""
    (operation,) = (one for one in OPERATIONS if one.operation_id == name)
    body = {**examples(name)["demo"]["value"], **change, "units": units}
    problem = client.post(operation.path, json=body).get_json()
    assert problem["type"] == f"/problems/{slug}", problem
    for sentence in [*problem["errors"], *problem.get("offers", [])]:
        shown = [one["text"] for one in sentence["params"] if one["text"] in sentence["text"]]
        assert "{" not in sentence["text"]
        assert shown or not any(letter.isdigit() for letter in sentence["text"].replace("CO2", ""))
        assert all("value" in one for one in sentence["params"] if "unit" in one)
        others = {"bar", "c", "ml", "g/l"} if units == "us" else {"psi", "f", "oz", "volumes"}
        assert others.isdisjoint({one.get("unit") for one in sentence["params"]})

"""The operations that clients rely on: each where it was promised, under its name, with a request that runs."""

import json

import pytest

from service import MODEL
from service.api import openapi
from service.api.app import OPERATIONS
from service.api.endpoint import MEDIA_TYPES
from service.api.openapi import example
from service.api.openapi.paths import kebab
from service.api.references import REFERENCES
from tests.api.conforms import conforms
from tests.asking import as_sent
from tests.running import ROOT

COMPUTED = {
    "/v1/batches": "createBatch",
    "/v1/batch-lists": "createBatchList",
    "/v1/acid-solutions": "createAcidSolution",
    "/v1/acid-adjustments": "createAcidAdjustment",
    "/v1/acid-equivalents": "createAcidEquivalents",
    "/v1/acid-doses": "createAcidDose",
    "/v1/carbonation/set-points": "createSetPoints",
    "/v1/carbonation/readings": "createReading",
    "/v1/carbonation/charges": "createCharges",
    "/v1/carbonation/gas-supply": "createGasSupply",
    "/v1/chilling": "createChillPlan",
    "/v1/regas/forecasts": "createRegasForecast",
    "/v1/regas/states": "createRegasState",
    "/v1/regas/calibrations": "createCalibration",
    "/v1/draught/lines": "createDraughtLine",
    "/v1/prep-sheets": "createPrepSheet",
    "/v1/rollouts": "createRollout",
    "/v1/service-plans": "createServicePlan",
    "/v1/spec-checks": "createSpecCheck",
    "/v1/reconciliations": "createReconciliation",
    "/v1/spec-sheets": "createSpecSheet",
}
READ = {
    "/v1/references": "listReferences",
    "/v1/references/acids": "listAcids",
    "/v1/references/ingredients": "listIngredients",
    "/v1/references/vessels": "listVessels",
    "/v1/references/units": "listUnits",
    "/v1/references/allergens": "listAllergens",
    "/v1/references/sources": "listSources",
    "/v1/references/limits": "listLimits",
    "/v1/references/safety-rules": "listSafetyRules",
    "/v1/references/codes": "listCodes",
    "/v1/references/spec-sheet": "getSpecSheetTemplate",
}
TEMPLATE = "/v1/references/spec-sheet"
DOCUMENT = openapi.document(OPERATIONS, REFERENCES)
TAKES = {operation.path: operation.takes for operation in OPERATIONS}
"""Path -> form of the body."""


def named(method: str) -> dict[str, str]:
    """Operation ids of the document by path, those of the service itself left out."""
    of = {path: item[method]["operationId"] for path, item in DOCUMENT["paths"].items() if method in item}
    return {path: name for path, name in of.items() if path.startswith("/v1/")}


def test_the_document_has_these_operations_and_no_other():
    assert named("post") == COMPUTED
    assert named("get") == READ
    assert [method for path in COMPUTED for method in DOCUMENT["paths"][path] if method != "post"] == []


@pytest.mark.parametrize("path", COMPUTED)
def test_its_example_runs_and_the_answer_is_what_the_document_promises(client, path):
    shown = DOCUMENT["paths"][path]["post"]["requestBody"]["content"][MEDIA_TYPES[TAKES[path]]]["examples"]
    assert shown["demo"]["value"] == example(COMPUTED[path])
    for one in shown.values():
        answer = client.post(path, **as_sent(one["value"]))
        assert answer.status_code == 200, answer.json
        conforms(COMPUTED[path], answer.json)


def test_every_example_that_is_kept_is_shown():
    names = {kebab(name): name for name in COMPUTED.values()}
    for path in (ROOT / "openapi/examples").iterdir():
        operation, _, about = path.stem.partition("--")
        of = next(item["post"] for item in DOCUMENT["paths"].values()
                  if item.get("post", {}).get("operationId") == names[operation])  # fmt: skip
        form = path.suffix.removeprefix(".")
        shown = of["requestBody"]["content"][MEDIA_TYPES[form]]["examples"]
        text = path.read_bytes().decode()
        assert shown[about or "demo"]["value"] == (json.loads(text) if form == "json" else text)


@pytest.mark.parametrize("path", [path for path in READ if path != TEMPLATE])
def test_its_table_is_read(client, path):
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.json["model"] == MODEL
    assert answer.json["items"]
    conforms(READ[path], answer.json)


@pytest.mark.parametrize("path", [path for path in COMPUTED if TAKES[path] == "json"])
@pytest.mark.parametrize("model", ["2026.11", "1.0", f"{MODEL} ", f"{MODEL}.1", "latest"])
def test_a_model_is_an_assertion(client, path, model):
    """Another than this is refused with what there is; this one is answered as if nothing were said."""
    request = example(COMPUTED[path])
    refused = client.post(path, json=request | {"model": model})
    assert (refused.status_code, refused.json["type"]) == (422, "/problems/model-not-available")
    assert refused.json["available"] == [MODEL]
    assert [error["pointer"] for error in refused.json["errors"]] == ["/model"]
    assert client.post(path, json=request | {"model": refused.json["available"][0]}).data == client.post(
        path, json=request
    ).data  # fmt: skip


def test_the_committed_document_names_the_model_in_force():
    assert json.loads((ROOT / "openapi/openapi.json").read_text())["info"]["version"] == MODEL


IN_HOUSE = ("prices", "on_hand", "ready")
"""Lists of what a house has and pays."""


STATES_THEM = [
    one for one in OPERATIONS
    if one.takes == "json" and any(f'"{name}":' in json.dumps(example(one.operation_id)) for name in IN_HOUSE)
]  # fmt: skip


@pytest.mark.parametrize("operation", STATES_THEM, ids=lambda one: one.operation_id)
def test_a_list_that_a_form_sends_empty_says_no_more_than_one_left_out(client, operation):
    def with_each(node, empty):
        if isinstance(node, list):
            return [with_each(inner, empty) for inner in node]
        if not isinstance(node, dict):
            return node
        kept = {key: with_each(inner, empty) for key, inner in node.items() if key not in (*IN_HOUSE, "selling_price")}
        return kept | ({name: [] for name in IN_HOUSE if name in node} if empty else {})

    body = example(operation.operation_id)
    named = {"X-Request-Id": "the-same"}
    sent, left_out = (
        client.post(operation.path, json=with_each(body, empty), headers=named) for empty in (True, False)
    )
    assert sent.status_code == left_out.status_code == 200, sent.get_json()
    assert sent.get_json() == left_out.get_json()

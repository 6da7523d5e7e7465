"""No number moves unseen: answers are held against those that are kept, and the changelog against what moved.

That a number is kept does not make it right. `PROVED` says where the numbers of each operation are held against print,
a library or hand arithmetic; the science under all of them is so in tests/science, and `python -m tests.residuals`
tells how far it is from print.
"""

import json
import re
from copy import deepcopy

import pytest

from service import MODEL
from service.api.app import create_app
from service.api.openapi import example
from tests.golden.answers import (
    FOLDER,
    PATHS,
    SAME,
    answered,
    entries,
    kept,
    models,
    moved,
    path_of,
    requests,
    unnamed,
    whole,
)
from tests.running import ROOT

KEPT = kept(MODEL) if MODEL in models() else {}
(BEFORE,) = models()[-2:-1] or (MODEL,)
RELEASED = kept(BEFORE)
AGAIN = "make openapi and python -m tests.golden keep the present ones"
PROVED = {
    "/v1/batches": "test_batching, test_drink, test_batch_paper, test_whole_serves: OIML R 22, CRC Handbook, ISO 4217, "
    "Regulation (EU) No 1169/2011, by hand",
    "/v1/batch-lists": "api/test_batch_lists: each item is the batch that /v1/batches answers",
    "/v1/acid-solutions": "test_acid, science/test_acids: CRC Handbook, PHREEQC with minteq.v4, by hand",
    "/v1/acid-adjustments": "test_acid_adjustments: molar masses of chemicals, PHREEQC, stoichiometry by hand",
    "/v1/acid-equivalents": "test_acid, science/test_acids: equivalents by hand, molar masses of chemicals, PHREEQC",
    "/v1/acid-doses": "test_acid_doses: PHREEQC, printed readings, by hand",
    "/v1/carbonation/set-points": "test_carbonation, test_setting, science/test_gas: printed charts of beer, Weiss "
    "1974, Span & Wagner 1996 by CoolProp, ISO 2533",
    "/v1/draught/lines": "test_draught, science/test_flow: fluids, Colebrook, printed viscosities, by hand",
    "/v1/reconciliations": "test_reconciliation: sums by hand, conservation",
    "/v1/spec-sheets": "api/test_spec_checks: each spec of a sheet is checked as /v1/spec-checks checks it",
    "/v1/carbonation/readings": "test_reading: Murray & Riley 1971, Weiss 1974, CoolProp, a balance by hand",
    "/v1/carbonation/charges": "test_charging, test_carbonation, test_safety: Span & Wagner 1996 by CoolProp, balances "
    "by hand, figures of the trade",
    "/v1/carbonation/gas-supply": "test_gas_supply: CoolProp, 29 CFR 1910.1000, by hand",
    "/v1/chilling": "test_chilling: one measured point, CoolProp, CRC Handbook, half-lives by hand",
    "/v1/regas/forecasts": "test_regas, science/test_vessel: Liger-Belair 2010 and 2021, Henry's law, balances",
    "/v1/regas/states": "test_regas_states: Weiss 1974, CRC Handbook, balances, the forecast that a log repeats",
    "/v1/regas/calibrations": "test_calibrations: least squares of scipy, simulated benches, CoolProp",
    "/v1/prep-sheets": "test_prep_sheet: amounts by hand, Perry's densities, ISO 2533, one timetable by the rule; its "
    "parts where they are proved",
    "/v1/service-plans": "service_plans/test_scheduling, service_plans/test_demand: CP-SAT, PSPLIB, quantiles of "
    "scipy; its drinks where their prep sheets are proved",
    "/v1/rollouts": "test_rollouts: each venue is what the single operations answer; ISO 2533, by hand",
    "/v1/spec-checks": "test_spec_checks: OIML R 22, Regulation (EU) No 1169/2011, 21 CFR 114, what is charged",
}
"""Operation -> the tests that make its numbers right, and what they hold them against."""


@pytest.fixture(scope="module")
def client():
    with create_app({"AUTH": "open"}).test_client() as client:
        yield client


def test_the_numbers_of_every_operation_are_proved_somewhere_else():
    assert PROVED.keys() == set(PATHS.values())
    for path, proof in PROVED.items():
        tests, _, sources = proof.partition(": ")
        assert sources, path
        for name in tests.split(", "):
            assert (ROOT / "tests" / f"{name}.py").exists(), (path, name)


def test_every_request_is_kept_with_the_model_in_force():
    assert models()[-1] == MODEL, f"the numbers of {MODEL} are not kept; {AGAIN}"
    assert KEPT.keys() == requests().keys(), AGAIN
    assert {name: one["request"] for name, one in KEPT.items()} == requests(), AGAIN


@pytest.mark.parametrize("name", sorted(KEPT))
def test_answers_have_the_numbers_that_are_kept(client, name):
    numbers = answered(client, name, KEPT[name]["request"])
    assert numbers, "the request is refused"
    assert moved(KEPT[name]["numbers"], numbers) == {}, f"name them in CHANGELOG.md, then {AGAIN}"
    assert numbers.keys() == KEPT[name]["numbers"].keys(), AGAIN


@pytest.mark.parametrize("name", sorted(RELEASED))
def test_the_changelog_names_every_number_that_moved_since_the_last_model(client, name):
    """An entry under Numbers names the operation's path and a part of the number's pointer, as code."""
    assert BEFORE != MODEL
    differ = moved(RELEASED[name]["numbers"], answered(client, name, RELEASED[name]["request"]))
    assert {pointer: differ[pointer] for pointer in unnamed(name, differ, MODEL)} == {}


def test_the_changelog_has_the_numbers_of_every_model_that_is_kept():
    assert all(entries(model) for model in models())


def test_each_answer_is_kept_once():
    held = json.loads((FOLDER / f"{MODEL}.json").read_text(encoding="utf-8"))
    assert held.keys().isdisjoint(whole(MODEL))
    assert whole(MODEL)


def test_only_the_last_two_models_are_kept():
    log = re.findall(r"(?m)^## (\S+)", (ROOT / "CHANGELOG.md").read_text())
    assert models() == log[:2][::-1]


# That these checks can fail


def test_a_number_that_is_a_billionth_off_has_moved():
    before = {"/a": 2.0, "/b": 0.0, "/c": 1.0, "/d": 3.0}
    after = {"/a": 2.0 * (1 + 3 * SAME), "/b": 0.0, "/c": 1.0 + SAME / 10, "/e": 1.0}
    assert moved(before, after).keys() == {"/a", "/d"}


def test_a_wrong_input_moves_a_number(client):
    request = deepcopy(example("createSetPoints"))
    before = answered(client, "create-set-points", request)
    request["temperatures"][0]["value"] += 0.001
    assert any(
        p.startswith("/points/0/gauge_pressure") for p in moved(before, answered(client, "create-set-points", request))
    )


def test_what_no_entry_names_is_told():
    assert unnamed("create-batch", {"/nonsense/low": ""}, MODEL) == ["/nonsense/low"]
    assert path_of("create-acid-solution--phosphoric") == "/v1/acid-solutions"

"""No number moves unseen: answers are held against those that are kept, and the changelog against what moved."""

import json
import re
from copy import deepcopy

import pytest

from service import MODEL
from service.api.app import create_app
from service.api.openapi import example
from tests.golden.answers import FOLDER, SAME, answered, entries, kept, models, moved, path_of, requests, unnamed, whole
from tests.running import ROOT

KEPT = kept(MODEL) if MODEL in models() else {}
(BEFORE,) = models()[-2:-1] or (MODEL,)
RELEASED = kept(BEFORE)
AGAIN = "make openapi and python -m tests.golden keep the present ones"


@pytest.fixture(scope="module")
def client():
    with create_app({"AUTH": "open"}).test_client() as client:
        yield client


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

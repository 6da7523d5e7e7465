"""The table of codes against the source and against answers. `python -m tests.codes` writes it anew.

It holds words and no numbers; they are right where the source sends them, which is read from the source itself.
"""

import re

import pytest

from service.api.answers import Answer
from service.api.app import OPERATIONS, create_app
from service.api.openapi import example
from service.api.wire import write
from service.codes import SEVERITIES, codes, rows
from service.errors import outside_validity
from service.notes import Notes
from service.science.validity import OutsideValidity
from tests.asking import as_sent
from tests.codes.__main__ import PLACEHOLDER, UNKNOWN, amended
from tests.codes.answers import KIND_OF, OPEN, sent_by, unlisted
from tests.codes.source import sent_by_source, stands_in_source

AGAIN = "python -m tests.codes writes it anew"
KINDS = {*KIND_OF.values(), "sugar", "salt", "number", "text", "mass"}


def test_the_table_is_what_the_source_sends():
    """Both ways: what is sent is listed, with its text and parameters, and what is listed as sent is sent."""
    found = {(one.kind, one.code) for one in sent_by_source()}
    assert len(found) > 200
    listed = {(row["kind"], row["code"]) for row in rows() if row["status"] == "sent"}
    assert (sorted(found - {(row["kind"], row["code"]) for row in rows()}), sorted(listed - found)) == ([], []), AGAIN
    assert list(rows()) == amended(), AGAIN


def test_what_the_source_puts_together_stands_in_it():
    built = {row["code"] for row in rows() if row["status"] == "built"}
    assert [code for code in sorted(built) if not stands_in_source(code)] == [], AGAIN


def test_every_row_is_whole():
    for row in rows():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["code"]), row
        assert row["text"] != UNKNOWN, f"complete this one by hand: {row}"
        assert row["status"] in ("sent", "built", "deprecated"), row
        assert row["severity"] in SEVERITIES, row
        assert (row["severity"] != "") == (row["kind"] in ("caution", "finding")), row
        params = dict(pair.split(":") for pair in row["params"].split())
        assert set(PLACEHOLDER.findall(row["text"])) <= params.keys(), row
        assert {each for of in params.values() for each in of.split("|")} <= KINDS, row
    assert len({tuple(row.values()) for row in rows()}) == len(rows())


def test_a_code_is_listed_once_for_its_kind():
    assert len({(one.kind, one.code) for one in codes()}) == len(codes())


@pytest.fixture(scope="module")
def client():
    return create_app({"AUTH": "open"}).test_client()


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.operation_id)
def test_what_the_examples_send_is_listed(client, operation):
    """tests/api/conftest.py holds every answer of those tests against the table in the same way."""
    answer = client.post(operation.path, **as_sent(example(operation.operation_id))).get_json()
    assert unlisted(answer) == []
    if operation.operation_id in ("createBatch", "createCharges", "createPrepSheet", "createRollout"):
        assert list(sent_by(answer))


def test_what_is_not_listed_is_told():
    heel = {"name": "heel", "text": "60 ml", "value": 60, "unit": "ml"}
    whole, serves = {"name": "whole", "text": "56", "value": 56}, {"name": "serves", "text": "60", "value": 60}
    text = "Poured whole, these vessels give 56 serves, not 60; 60 ml stays in each. Ask for whole serves."
    right = {"code": "heels", "text": text, "params": [whole, serves, heel]}
    assert unlisted({"cautions": [right]}) == []
    for wrong in (
        {**right, "code": "heals"},
        {**right, "text": text.replace("Poured", "Drawn")},
        {**right, "params": [whole, serves]},
        {**right, "params": [whole, serves, heel, {**heel, "name": "rest"}]},
        {**right, "params": [whole, serves, {**heel, "unit": "g"}]},
    ):
        assert len(unlisted({"items": [{"result": {"cautions": [right, wrong]}}]})) == 1


def test_what_is_open_is_listed_too():
    assert OPEN.keys() <= {one.code for one in codes()}


def test_the_name_of_an_assumption_is_filled_from_its_params():
    notes = Notes()
    notes.assume("form of the {acid} acid", "monohydrate", "common-practice", acid="citric")
    notes.assume("form of the {acid} acid", "anhydrous", "common-practice", acid="malic")
    said = [write(one, Answer("metric")) for one in notes.assumptions]
    assert [one["name"] for one in said] == ["form of the citric acid", "form of the malic acid"]
    assert {one["code"] for one in said} == {"form-of-the-acid"}
    assert said[0]["text"] == "Form of the citric acid: monohydrate."
    assert {one["name"]: one["text"] for one in said[0]["params"]} == {"value": "monohydrate", "acid": "citric"}


@pytest.mark.parametrize("outside, text", [
    (("alcoholic strength", 44.0, 0.0, 40.0, "%vol"), "Alcoholic strength 44 %vol is outside 0 %vol to 40 %vol."),
    (("fill", 100.6, 0.0, 99.0, "%"), "Fill 100.6 % is outside 0 % to 99 %."),
    (("temperature", 50.0, 0.0, 40.0, "degC"), "Temperature 50.0 °C is outside 0.0 °C to 40.0 °C."),
    (("air saturation", 2.0, 0.0, 1.0, ""), "Air saturation 2 is outside 0 to 1."),
])  # fmt: skip
def test_what_is_outside_validity_has_its_unit(outside, text):
    (fault,) = outside_validity(OutsideValidity(*outside), "/drink").faults
    sent = Answer("metric").fault(fault)
    assert sent["text"] == text
    assert [one["name"] for one in sent["params"]] == ["what", "value", "low", "high"]
    assert all("value" in one for one in sent["params"][1:])
    assert unlisted({"errors": [sent]}) == []

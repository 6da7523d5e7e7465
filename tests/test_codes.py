"""The table of codes against the source and against answers. `python -m tests.codes` writes it anew.

It holds words and no numbers; they are right where the source sends them, which is read from the source itself.
"""

import ast
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
from tests.codes.answers import KIND_OF, sent_by, unlisted
from tests.codes.reading import SERVICE, Scope
from tests.codes.source import Source, sent_by_source

AGAIN = "python -m tests.codes writes it anew"
KINDS = {*KIND_OF.values(), "sugar", "salt", "number", "text", "mass"}


def test_the_table_is_what_the_source_sends():
    """Both ways: what is sent is listed, with its text and parameters, and what is listed as sent is sent."""
    found = {(one.kind, one.code) for one in sent_by_source()}
    assert len(found) > 200
    listed = {(row["kind"], row["code"]) for row in rows() if row["status"] == "sent"}
    assert (sorted(found - {(row["kind"], row["code"]) for row in rows()}), sorted(listed - found)) == ([], []), AGAIN
    assert list(rows()) == amended(), AGAIN


def test_no_sentence_is_put_together_from_parts():
    """Each is whole where it stands, with names for what is put in: else no catalogue holds it."""
    assert [f"{one.where} {one.code}" for one in sent_by_source() if one.glued] == []


def test_no_text_is_put_together_wherever_it_is_written():
    """What `sent_by_source` does not see: a text on its way to something that is not known to send."""
    assert [where for path in sorted(SERVICE.rglob("*.py")) for where in _put_together(path)] == []


DOCUMENTED = ("api/openapi", "api/pages", "api/quantities/answered.py")
"""Texts of the document and of pages, which are no sentences of answers."""


def _put_together(path):
    if str(path.relative_to(SERVICE)).startswith(DOCUMENTED):
        return
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Assign | ast.AugAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            named = any(isinstance(one, ast.Name) and one.id in ("text", "detail") for one in targets)
            if (named and isinstance(node.value, ast.JoinedStr | ast.BinOp)) or (
                named and isinstance(node, ast.AugAssign)
            ):
                yield f"{path.relative_to(SERVICE)}:{node.lineno}"


def test_a_text_that_is_put_together_is_found(tmp_path, monkeypatch):
    source = tmp_path / "some.py"
    monkeypatch.setattr("tests.test_codes.SERVICE", tmp_path)
    for wrong in ('text = f"At {x} bar."', 'text = "At " + x', 'text += " Cool it."'):
        source.write_text(wrong)
        assert list(_put_together(source)) == ["some.py:1"]
    source.write_text('text = "At {dial}."')
    assert list(_put_together(source)) == []


@pytest.mark.parametrize("wrong", [
    'notes.caution("a", "info", f"At {x} bar.")',
    'text = "At {dial}."\ntext = text + " Cool it."\nnotes.caution("a", "info", text)',
    'notes.caution("a", "info", " ".join(["At", "once."]))',
    'LATE = {"a": "At " + once}\nnotes.caution("a", "info", LATE[x])',
])  # fmt: skip
def test_a_sender_that_puts_its_text_together_is_found(wrong):
    source = Source(SERVICE / "some.py", Scope(tree := ast.parse(wrong)))
    source.visit(tree)
    assert [one.glued for one in source.found] == [True]


def test_every_row_is_whole():
    for row in rows():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["code"]), row
        assert row["text"] != UNKNOWN, f"complete this one by hand: {row}"
        assert row["status"] in ("sent", "deprecated"), row
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
    text = "Ask for whole serves: poured whole, these vessels give 56 serves, not 60, and 60 ml stays in each."
    right = {"code": "heels", "text": text, "params": [whole, serves, heel]}
    assert unlisted({"cautions": [right]}) == []
    for wrong in (
        {**right, "code": "heals"},
        {**right, "text": text.replace("poured", "drawn")},
        {**right, "params": [whole, serves]},
        {**right, "params": [whole, serves, heel, {**heel, "name": "rest"}]},
        {**right, "params": [whole, serves, {**heel, "unit": "g"}]},
    ):
        assert len(unlisted({"items": [{"result": {"cautions": [right, wrong]}}]})) == 1


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

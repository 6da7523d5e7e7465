"""GET /v1, /v1/references and /problems: what there is, and that it is there."""

import re
from hashlib import sha256

import pytest

from service.api.app import OPERATIONS, create_app
from service.api.listing import lists
from service.api.problems import TYPES
from service.api.references import REFERENCES
from tests.api.conforms import conforms

LISTS = lists(OPERATIONS, REFERENCES)
every_list = pytest.mark.parametrize("reference", LISTS, ids=lambda r: r.operation_id)


def items(client, path):
    return client.get(path).get_json()["items"]


@every_list
def test_it_is_what_the_document_promises_and_has_a_tag(client, reference):
    answer = client.get(reference.path)
    assert answer.status_code == 200
    conforms(reference.operation_id, answer.get_json())
    again = client.get(reference.path, headers={"If-None-Match": answer.headers["ETag"]})
    assert (again.status_code, again.get_data()) == (304, b"")


@every_list
def test_other_methods_and_unknown_parameters_are_problems(client, reference):
    assert client.post(reference.path, json={}).status_code == 405
    assert client.get(reference.path, query_string="page=2").status_code == 400


def test_every_operation_is_listed_and_every_path_answers(client):
    listed = {(one["method"], one["path"]) for one in items(client, "/v1")}
    rules = [rule for rule in create_app({"AUTH": "open"}).url_map.iter_rules() if rule.rule.startswith("/v1/")]
    routes = {(method, rule.rule) for rule in rules for method in (rule.methods or set()) & {"GET", "POST"}}
    assert listed == routes
    assert len(listed) == len(items(client, "/v1"))


def test_every_table_is_listed(client):
    listed = [one["path"] for one in items(client, "/v1/references")]
    assert listed == [reference.path for reference in REFERENCES]
    assert {client.get(path).status_code for path in listed} == {200}


def test_every_problem_type_is_listed_as_it_is_explained(client):
    listed = items(client, "/problems")
    assert [one["slug"] for one in listed] == sorted(TYPES)
    for one in listed:
        explained = client.get(one["type"]).get_json()
        assert {name: explained[name] for name in ("slug", "title", "status", "explanation")} == {
            name: value for name, value in one.items() if name != "type"
        }
        assert re.fullmatch(r"/problems/[a-z0-9-]+", one["type"])


def test_problems_are_explained_without_a_key():
    keyed = create_app({"API_KEY_HASHES": sha256(b"k" * 43).hexdigest()}).test_client()
    answer = keyed.get("/problems")
    assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "public, max-age=86400")
    assert [keyed.get(path).status_code for path in ("/v1", "/v1/references")] == [401, 401]
    assert keyed.get("/problems-and-more").status_code == 401

"""Duties of every operation towards its callers, whatever it computes: contract rules 5 to 10."""

import json
from copy import deepcopy
from functools import reduce
from operator import getitem
from time import process_time

import pytest
from flask.testing import FlaskClient

from service import MODEL
from service.api.app import create_app
from service.api.openapi import example
from service.api.openapi.paths import examples
from service.api.problems import TYPES
from service.limits.requests import LARGEST_BODY, MOST_PARTS
from tests.asking import TAKING_JSON

every_operation = pytest.mark.parametrize("operation", TAKING_JSON, ids=lambda o: o.operation_id)


def post(client: FlaskClient, path: str, body: object, **kwargs: object):
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return client.post(path, data=data, **{"content_type": "application/json", **kwargs})


def problem(response, slug: str) -> dict:
    """The problem document, after checking what RFC 9457 and the contract promise of it."""
    assert response.mimetype == "application/problem+json"
    found = response.get_json()
    assert found["type"] == f"/problems/{slug}", found
    assert found["status"] == response.status_code == TYPES[slug].status
    assert found["title"] == TYPES[slug].title
    assert found["detail"]
    assert found["request_id"] == response.headers["X-Request-Id"]
    assert isinstance(found["errors"], list)
    return found


@every_operation
def test_the_example_is_answered_with_the_envelope(client, operation):
    response = post(client, operation.path, example(operation.operation_id))
    assert response.status_code == 200, response.get_json()
    assert response.headers["Cache-Control"] == "no-store"
    assert response.headers["Content-Language"] == "en"
    answer = response.get_json()
    assert answer["model"] == MODEL
    for caution in answer["cautions"]:
        assert caution["severity"] in ("info", "warning", "danger")
        assert "{" not in caution["text"]
    for assumption in answer["assumptions"]:
        assert assumption["basis"] in ("published", "library", "common-practice", "estimate", "unverified", "default")
    assert "null" not in response.get_data(as_text=True)


@every_operation
def test_answers_do_not_depend_on_earlier_requests(client, operation):
    body = example(operation.operation_id)
    first = post(client, operation.path, body).get_data()
    post(client, operation.path, {})
    assert post(client, operation.path, body).get_data() == first


@every_operation
def test_labels_are_echoed(client, operation):
    body = {**example(operation.operation_id), "labels": {"pos": "till 4"}}
    assert post(client, operation.path, body).get_json()["labels"] == {"pos": "till 4"}


@every_operation
def test_seventeen_labels_are_refused(client, operation):
    body = {**example(operation.operation_id), "labels": {str(i): "x" for i in range(17)}}
    assert problem(post(client, operation.path, body), "invalid-request")["errors"][0]["pointer"] == "/labels"


@every_operation
def test_another_model_is_refused_with_what_is_available(client, operation):
    body = {**example(operation.operation_id), "model": "1999.1.0"}
    found = problem(post(client, operation.path, body), "model-not-available")
    assert found["available"] == [MODEL]
    assert found["errors"][0]["pointer"] == "/model"


@every_operation
def test_the_model_in_force_is_accepted(client, operation):
    assert post(client, operation.path, {**example(operation.operation_id), "model": MODEL}).status_code == 200


@every_operation
def test_every_fault_is_named_at_once(client, operation):
    body = {**example(operation.operation_id), "units": "furlongs", "nonsense": 1, "labels": 3}
    pointers = {e["pointer"] for e in problem(post(client, operation.path, body), "invalid-request")["errors"]}
    assert {"/units", "/nonsense", "/labels"} <= pointers


@every_operation
def test_an_unknown_field_names_the_nearest_known_one(client, operation):
    """Contract rule 16. Each field of the example with a letter doubled, then called as it is told to be."""
    body = example(operation.operation_id)
    for name in [name for name in body if len(name) > 3]:
        misspelt = {key + key[-1] if key == name else key: value for key, value in body.items()}
        found = problem(post(client, operation.path, misspelt), "invalid-request")
        (error,) = (one for one in found["errors"] if one["code"] == "unknown-field")
        assert error["pointer"] == f"/{name}{name[-1]}"
        assert error["params"] == [{"name": "nearest", "text": name}]
        assert name in error["text"]
        mended = {error["params"][0]["text"] if key not in body else key: value for key, value in misspelt.items()}
        assert mended == body


def objects_in(node, at=()):
    """Every object of a request with the way to it; what is named by the caller is none of ours."""
    if isinstance(node, dict) and at[-1:] not in (("drinks",), ("vessel_kinds",), ("labels",)):
        yield at, node
    for key, inner in node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ():
        yield from objects_in(inner, (*at, key))


@every_operation
def test_an_unknown_field_names_the_nearest_known_one_wherever_it_stands(client, operation):
    """Contract rule 16, in every object of every example; of lists the first item, which stands for the others."""
    for shown in examples(operation.operation_id).values():
        body = shown["value"]
        for at, node in objects_in(body):
            if any(key not in (0, 1) for key in at if isinstance(key, int)):
                continue
            for name in (name for name in node if len(name) > 3):
                wrong = deepcopy(body)
                place = reduce(getitem, at, wrong)
                place[f"{name}{name[-1]}"] = place.pop(name)
                told = list(unknown_fields(post(client, operation.path, wrong).get_json()))
                assert [one["params"] for one in told] == [[{"name": "nearest", "text": name}]], (at, name)
                assert told[0]["pointer"].endswith(f"/{name}{name[-1]}")


def unknown_fields(node):
    if isinstance(node, dict) and node.get("code") == "unknown-field":
        yield node
    for inner in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from unknown_fields(inner)


@pytest.mark.parametrize(
    "unknown, nearest",
    [
        ({"sugr": {"value": 7, "unit": "brix"}}, ("/drink/composition/sugr", "sugar")),
        ({"abv_percent": 9}, ("/drink/composition/abv_percent", "abv")),
        ({"hexoseShare": 0.5}, ("/drink/composition/hexoseShare", "hexose_share")),
        ({"acid": {}}, ("/drink/composition/acid", "acidity")),
        ({"colour": "red"}, ("/drink/composition/colour", None)),
        ({"x" * 1000: 1}, ("/drink/composition/" + "x" * 1000, None)),
        ({"sugar": {"value": 7, "unit": "brix", "units": "brix"}}, ("/drink/composition/sugar/units", "unit")),
    ],
)
def test_what_is_like_a_field_is_named_and_what_is_like_none_is_not(client, unknown, nearest):
    body = example("createSetPoints")
    body["drink"] = {"composition": {"abv": 9, "sugar": {"value": 70, "unit": "g/l"}} | unknown}
    errors = problem(post(client, "/v1/carbonation/set-points", body), "invalid-request")["errors"]
    (error,) = (one for one in errors if one["code"] == "unknown-field")
    told = error["params"][0]["text"] if error["params"] else None
    assert (error["pointer"], told) == nearest
    assert error["text"].startswith("Unknown field")


def test_an_unknown_field_of_a_spec_that_is_checked_is_a_finding_with_the_nearest(client):
    spec = {"name": "x", "components": [{"name": "Gin", "amount": {"value": 45, "unit": "ml"}, "abvv": 40}]}
    answer = post(client, "/v1/spec-checks", {"items": [{"id": "a", "spec": spec}]}).get_json()
    (finding,) = answer["items"][0]["findings"]
    assert (finding["code"], finding["params"]) == ("unknown-field", [{"name": "nearest", "text": "abv"}])


def test_only_so_many_names_are_compared(client):
    """Letters of a known name in another order, as many as a body bears."""
    names = {f"d{'_mlptyensigreg'[i % 14 :]}{i}": 1 for i in range(20_000)}
    found = problem(post(client, "/v1/batches", names), "invalid-request")
    assert len(found["errors"]) <= 1000
    assert sum(error["params"] != [] for error in found["errors"]) <= 50


@every_operation
def test_pointers_escape_tilde_and_slash(client, operation):
    body = {**example(operation.operation_id), "a/b~c": 1}
    found = problem(post(client, operation.path, body), "invalid-request")
    assert "/a~1b~0c" in {e["pointer"] for e in found["errors"]}


@every_operation
@pytest.mark.parametrize("label", ["", " ", "\x00", "\x9b31m", "a\nb", "x" * 201], ids=ascii)
def test_text_is_bounded_and_holds_no_control_characters(client, operation, label):
    body = {**example(operation.operation_id), "labels": {"note": label}}
    assert problem(post(client, operation.path, body), "invalid-request")["errors"][0]["pointer"] == "/labels/note"


NOT_JSON = {
    "empty": b"",
    "garbage": b"{",
    "nan": b'{"units": NaN}',
    "infinity": b'{"units": -Infinity}',
    "duplicate keys": b'{"units": "us", "units": "metric"}',
    "duplicate keys deep": b'{"a": [{"b": 1, "b": 2}]}',
    "duplicate keys, one escaped": b'{"a": 1, "\\u0061": 2}',
    "duplicate keys, and an escaped colon": b'{"a": 1, "a": "\\u003a"}',
    "duplicate keys among colons": b'{":": ":", "a:b": "::", ":": 1}',
    "not utf-8": b'{"units": "\xff"}',
    "lone surrogate": b'{"units": "\\ud800"}',
    "two documents": b"{} {}",
    "single quotes": b"{'units': 1}",
    "deep nesting": b'{"a":' * 500 + b"1" + b"}" * 500,
    "very deep nesting": b"[" * 100_000,
}


@every_operation
@pytest.mark.parametrize("body", NOT_JSON.values(), ids=NOT_JSON)
def test_what_is_not_strict_json_is_refused(client, operation, body):
    problem(post(client, operation.path, body), "invalid-json")


HOSTILE = {
    "many keys, the last twice": b"{" + b",".join(b'"%x":1' % i for i in range(100_000)) + b',"0":2}',
    "many unknown fields": b"{" + b",".join(b'"%x":1' % i for i in range(100_000)) + b"}",
    "many numbers": b'{"spec":[' + b"0," * 500_000 + b"0]}",
    "as deep as allowed, and wide": b'{"spec":[' + b",".join([b"[" * 60 + b"]" * 60] * 8_000) + b"]}",
    "a long name": b'{"' + b"x" * 1_000_000 + b'":1}',
    "a long label": b'{"labels":{"' + b"x" * 1_000_000 + b'":"y"}}',
    "a long number": b'{"spec":' + b"1" * 1_000_000 + b"}",
    "a long escape": b'{"units":"' + b'\\"' * 500_000 + b'"}',
}


@pytest.mark.parametrize("body", HOSTILE.values(), ids=HOSTILE)
def test_bodies_made_to_cost_much_cost_little_and_get_a_bounded_answer(client, body):
    began = process_time()
    response = post(client, "/v1/batches", body)
    assert process_time() - began < 2.0  # work that grows with the square of a body takes a minute
    assert response.status_code in (400, 422)
    found = response.get_json()
    assert len(found["errors"]) <= 1000
    assert all(len(error["pointer"]) <= 4000 for error in found["errors"])


@pytest.mark.parametrize("part", [b"[]", b"{}"])
def test_more_parts_than_any_request_has_are_refused_unread(client, part):
    """Refuse one part over the bound before parsing; one fewer parses, and is a list instead of a request."""
    many = b",".join([part] * (MOST_PARTS - 1))
    assert problem(post(client, "/v1/batches", b"[" + many + b"]"), "invalid-request")
    found = problem(post(client, "/v1/batches", b"[" + many + b"," + part), "invalid-json")  # and it never ends
    assert str(MOST_PARTS) in found["detail"]


def test_faults_beyond_those_that_are_told_are_not_counted(client):
    wide = {"components": [{f"{i}": 1 for i in range(900)} for _ in range(2)]}
    found = problem(post(client, "/v1/batches", {"spec": wide, "size": {"serves": 1}}), "invalid-request")
    assert len(found["errors"]) == 1000
    assert found["detail"] == "More than 1000 fields are not valid."


@every_operation
@pytest.mark.parametrize("body", [[], 3, "x", True, None], ids=repr)
def test_a_body_that_is_no_object_is_refused(client, operation, body):
    assert problem(post(client, operation.path, body), "invalid-request")["errors"][0]["pointer"] == ""


@every_operation
def test_a_body_over_the_limit_is_refused(client, operation):
    problem(post(client, operation.path, b" " * (LARGEST_BODY + 1)), "body-too-large")
    problem(post(client, operation.path, b" " * 3_000_000), "body-too-large")


@every_operation
@pytest.mark.parametrize("content_type", ["text/plain", "application/xml", "application/x-www-form-urlencoded", ""])
def test_other_media_types_are_refused(client, operation, content_type):
    problem(post(client, operation.path, {}, content_type=content_type), "unsupported-media-type")


@every_operation
def test_an_encoded_body_is_refused(client, operation):
    problem(post(client, operation.path, {}, headers={"Content-Encoding": "gzip"}), "unsupported-media-type")


@every_operation
def test_what_cannot_be_sent_is_not_acceptable(client, operation):
    body = example(operation.operation_id)
    problem(post(client, operation.path, body, headers={"Accept": "application/pdf"}), "not-acceptable")
    problem(post(client, operation.path, body, query_string="format=pdf"), "not-acceptable")


@every_operation
@pytest.mark.parametrize("accept", ["*/*", "application/*", "application/json;q=0.1", "text/*;q=0.5, */*;q=0.5"])
def test_ties_go_to_json(client, operation, accept):
    response = post(client, operation.path, example(operation.operation_id), headers={"Accept": accept})
    assert response.mimetype == "application/json"


@every_operation
def test_parameters_of_a_media_type_do_not_matter(client, operation):
    headers = {"Accept": "application/json; charset=utf-8"}
    assert post(client, operation.path, example(operation.operation_id), headers=headers).status_code == 200


@every_operation
def test_unknown_query_parameters_are_refused(client, operation):
    found = problem(post(client, operation.path, {}, query_string="colour=red"), "invalid-query")
    assert (found["errors"][0]["in"], found["errors"][0]["pointer"]) == ("query", "/colour")


@every_operation
def test_columns_without_text_are_refused(client, operation):
    problem(post(client, operation.path, {}, query_string="columns=40"), "invalid-query")


@every_operation
@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "PATCH"])
def test_other_methods_are_refused_with_allow(client, operation, method):
    response = client.open(operation.path, method=method)
    problem(response, "method-not-allowed")
    assert "POST" in response.headers["Allow"]


@pytest.mark.parametrize("path", ["/v2/batches", "/v1//batches", "/v1/batches/", "/docs/x"])
def test_an_unknown_path_is_a_problem(client, path):
    problem(client.post(path), "not-found")


@pytest.mark.parametrize("slug", TYPES)
def test_every_problem_type_is_explained(client, slug):
    found = client.get(f"/problems/{slug}").get_json()
    assert (found["slug"], found["status"], found["title"]) == (slug, TYPES[slug].status, TYPES[slug].title)
    assert found["explanation"]


def test_an_unknown_problem_type_is_not_found(client):
    problem(client.get("/problems/nonsense"), "not-found")


def test_the_request_id_of_the_caller_is_kept(client):
    assert client.get("/healthz", headers={"X-Request-Id": "till-4.1"}).headers["X-Request-Id"] == "till-4.1"


@pytest.mark.parametrize("sent", ["a b", "x" * 65, "<script>"])
def test_a_request_id_that_is_no_token_is_replaced(client, sent):
    assert client.get("/healthz", headers={"X-Request-Id": sent}).headers["X-Request-Id"] != sent


@pytest.mark.parametrize("asked, language", [
    ("es-419, en;q=0.5", "es"),  # as RFC 4647, section 3.4: each range is cut short before the next is looked at
    ("de-CH-1996", "de"), ("FR-ca", "fr"), ("pt-BR, fr;q=0.3", "fr"), ("en;q=0.2, de;q=0.9", "de"),
    ("es;q=0, fr", "fr"), ("*", "en"), ("pt", "en"), ("", "en"), ("x", "en"), ("e", "en"), ("ess", "en"),
])  # fmt: skip
def test_the_first_language_that_there_is_is_spoken(client, asked, language):
    assert client.get("/problems/refused", headers={"Accept-Language": asked}).headers["Content-Language"] == language


@pytest.mark.parametrize("path", ["/healthz", "/readyz"])
def test_probes(client, path):
    assert client.get(path).get_json()["model"] == MODEL


def test_a_fault_of_the_service_is_a_problem_without_details(monkeypatch):
    app = create_app({"AUTH": "open"})
    app.add_url_rule("/broken", view_func=lambda: 1 / 0)
    found = problem(app.test_client().get("/broken"), "internal")
    assert "division" not in json.dumps(found)

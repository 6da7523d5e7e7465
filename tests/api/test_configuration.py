"""Configuration: by environment only, refused at start when it is wrong, and what it opens and closes."""

import ast
import hmac
import os
import re
import subprocess
import sys
from datetime import datetime
from hashlib import sha256

import pytest

from service.api import keys
from service.api.app import create_app
from service.api.configuration import SETTINGS
from service.api.openapi import example
from tests.api.test_endpoint import post, problem
from tests.running import ROOT, free_port

KEYS = "k" * 43, "another-key-of-this-deployment-0123456789-abcdef"
HASHES = [sha256(key.encode()).hexdigest() for key in KEYS]
TILL, DISPLAY = "https://till.example", "http://display.example:8000"

WRONG_FOR_THE_APPLICATION = {
    "neither keys nor open": ({}, "API_KEY_HASHES"),
    "both": ({"AUTH": "open", "API_KEY_HASHES": HASHES[0]}, "API_KEY_HASHES"),
    "AUTH=none": ({"AUTH": "none"}, "AUTH"),
    "AUTH=open in capitals": ({"AUTH": "OPEN"}, "AUTH"),
    "a key instead of its hash": ({"API_KEY_HASHES": KEYS[0]}, "API_KEY_HASHES"),
    "a hash in capitals": ({"API_KEY_HASHES": HASHES[0].upper()}, "API_KEY_HASHES"),
    "a hash and nothing": ({"API_KEY_HASHES": f"{HASHES[0]},"}, "API_KEY_HASHES"),
    "any origin": ({"AUTH": "open", "CORS_ORIGINS": "*"}, "CORS_ORIGINS"),
    "the null origin": ({"AUTH": "open", "CORS_ORIGINS": "null"}, "CORS_ORIGINS"),
    "an origin with a path": ({"AUTH": "open", "CORS_ORIGINS": f"{TILL}/"}, "CORS_ORIGINS"),
    "an origin that is a pattern": ({"AUTH": "open", "CORS_ORIGINS": "https://.*"}, "CORS_ORIGINS"),
    "a bare hash among names": ({"API_KEYS": HASHES[0]}, "API_KEYS"),
    "a key instead of its hash, named": ({"API_KEYS": f"till:{KEYS[0]}"}, "API_KEYS"),
    "a name in capitals": ({"API_KEYS": f"Till:{HASHES[0]}"}, "API_KEYS"),
    "a name that is long": ({"API_KEYS": f"{'t' * 41}:{HASHES[0]}"}, "API_KEYS"),
    "no name": ({"API_KEYS": f":{HASHES[0]}"}, "API_KEYS"),
    "a name and nothing": ({"API_KEYS": f"till:{HASHES[0]},"}, "API_KEYS .* entry 2 is neither"),
    "a day that is none": ({"API_KEYS": f"till:{HASHES[0]}:2027-02-29"}, "API_KEYS"),
    "a day written otherwise": ({"API_KEYS": f"till:{HASHES[0]}:31.12.2027"}, "API_KEYS"),
    "a name twice": ({"API_KEYS": f"till:{HASHES[0]},till:{HASHES[1]}"}, "API_KEYS .* name twice"),
    "a key twice": ({"API_KEYS": f"till:{HASHES[0]}", "API_KEY_HASHES": HASHES[0]}, "hash twice"),
    "more keys than there may be": (
        {"API_KEYS": ",".join(f"k{i}:{i:064x}" for i in range(1001))},
        "API_KEYS must hold at most 1000",
    ),
    "names and open": ({"AUTH": "open", "API_KEYS": f"till:{HASHES[0]}"}, "API_KEYS"),
    "WORKER": ({"AUTH": "open", "WORKER": "4"}, "WORKER is no setting; if WORKERS is meant"),
    "API_KEY": ({"AUTH": "open", "API_KEY": KEYS[0]}, "API_KEY is no setting; if API_KEYS is meant"),
    "API_KEY_HASH": ({"AUTH": "open", "API_KEY_HASH": HASHES[0]}, "if API_KEY_HASHES is meant"),
    "CORS_ORIGIN": ({"AUTH": "open", "CORS_ORIGIN": TILL}, "if CORS_ORIGINS is meant"),
    "LOGLEVEL": ({"AUTH": "open", "LOGLEVEL": "info"}, "if LOG_LEVEL is meant"),
    "workers": ({"AUTH": "open", "workers": "4"}, "if WORKERS is meant"),
    "metrics nowhere": ({"AUTH": "open", "METRICS_BIND": "9090x"}, "METRICS_BIND"),
    "metrics without their folder": ({"AUTH": "open", "METRICS_BIND": "127.0.0.1:9090"}, "PROMETHEUS_MULTIPROC_DIR"),
}
WRONG_FOR_THE_SERVER = {
    "no port": {"BIND": "127.0.0.1"},
    "port 0": {"BIND": "127.0.0.1:0"},
    "port 65536": {"BIND": "127.0.0.1:65536"},
    "a socket file, whose callers would choose their port": {"BIND": "unix:/tmp/socket"},
    "metrics without a port": {"METRICS_BIND": "localhost"},
    "metrics beside the operations": {"METRICS_BIND": "0.0.0.0:8080"},
    "large requests beside the others": {"LARGE_BIND": "0.0.0.0:8080"},
    "large requests on a socket of another process": {"LARGE_BIND": "fd://7"},
    "no worker for large requests": {"LARGE_WORKERS": "0", "LARGE_BIND": "0.0.0.0:8081"},
    "large workers in words, of no pool yet": {"LARGE_WORKERS": "one"},
    "no worker": {"WORKERS": "0"},
    "65 workers": {"WORKERS": "65"},
    "two workers in words": {"WORKERS": "two"},
    "a proxy by name": {"PROXIES": "proxy"},
    "an address without an end": {"PROXIES": "10.0.0"},
    "a level unknown": {"LOG_LEVEL": "chatty"},
}


@pytest.mark.parametrize("environment, named", WRONG_FOR_THE_APPLICATION.values(), ids=WRONG_FOR_THE_APPLICATION)
def test_the_application_refuses_a_wrong_configuration(environment, named):
    with pytest.raises(ValueError, match=named):
        create_app(environment)


# what other programs have in the environment of a machine
OTHERS = [
    "PATH",
    "HOME",
    "PORT",
    "OAUTH",
    "HTTP_PROXY",
    "NO_PROXY",
    "http_proxy",
    "API_KEY_OF_ANOTHER",
    "WEB_CONCURRENCY",
]


@pytest.mark.parametrize("name", OTHERS)
def test_variables_of_others_are_let_alone(name):
    assert create_app({"AUTH": "open", name: "x"})


def test_a_refusal_says_nothing_of_a_key():
    for environment in ({"API_KEYS": f"till:{KEYS[1]}"}, {"API_KEY_HASHES": KEYS[1]}, {"API_KEY": KEYS[1]}):
        with pytest.raises(ValueError, match="API_KEY") as refused:
            create_app(environment)
        assert KEYS[1] not in str(refused.value)


def test_the_server_refuses_a_misspelt_variable():
    assert "WORKER is no setting; if WORKERS is meant" in refusal_of_the_server(WORKER="4")


def refusal_of_the_server(**environment: str) -> str:
    """The last line of a start that fails."""
    command = [sys.executable, "-m", "gunicorn", "-c", "docker/gunicorn.conf.py"]
    settings = os.environ | {"BIND": f"127.0.0.1:{free_port()}", "AUTH": "open", "API_KEY_HASHES": ""} | environment
    done = subprocess.run(command, cwd=ROOT, env=settings, capture_output=True, text=True, timeout=30, check=False)
    assert done.returncode != 0
    return done.stderr.splitlines()[-1]


@pytest.mark.parametrize("wrong", WRONG_FOR_THE_SERVER.values(), ids=WRONG_FOR_THE_SERVER)
def test_the_server_refuses_a_wrong_configuration(wrong):
    assert f"{next(iter(wrong))} must " in refusal_of_the_server(**({"BIND": "127.0.0.1:8080"} | wrong))


def test_what_the_application_refuses_ends_the_server():
    assert "set either API_KEYS" in refusal_of_the_server(AUTH="")


def test_the_readme_lists_every_variable_and_no_other():
    def names(path: str) -> set[str]:
        texts = (n.value for n in ast.walk(ast.parse((ROOT / path).read_text())) if isinstance(n, ast.Constant))
        return {text for text in texts if isinstance(text, str) and re.fullmatch(r"[A-Z]+(_[A-Z]+)*", text)}

    read = names("service/api/configuration.py") | names("docker/gunicorn.conf.py")
    internal = {"PROMETHEUS_MULTIPROC_DIR"}
    assert read - internal == set(SETTINGS)
    table = (ROOT / "README.md").read_text().split("## Configuration")[1].split("\n## ")[0]
    assert set(re.findall(r"(?m)^\| `([A-Z_]+)", table)) == read - internal


def test_no_other_module_reads_the_environment():
    reading = re.compile(r"\benviron\b|\bgetenv\b")
    found = [p.relative_to(ROOT).as_posix() for p in ROOT.glob("service/**/*.py") if reading.search(p.read_text())]
    assert set(found) == {"service/api/app.py", "service/api/metrics.py"}  # in metrics it is the request's own, of WSGI


@pytest.fixture(scope="module")
def locked():
    return create_app({"API_KEY_HASHES": f"{HASHES[0]}, {HASHES[1]}"}).test_client()


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("scheme", ["Bearer", "bearer"])  # RFC 9110, section 11.1: case does not matter
def test_each_of_several_keys_opens(locked, key, scheme):
    sent = {"Authorization": f"{scheme} {key}"}
    assert post(locked, "/v1/batches", example("createBatch"), headers=sent).status_code == 200


WRONG_KEYS = [
    {},
    {"Authorization": ""},
    {"Authorization": "Bearer"},
    {"Authorization": "Bearer " + "x" * 43},
    {"Authorization": f"Bearer {KEYS[0]} "[:-2]},
    {"Authorization": f"Bearer  {KEYS[0]}"},
    {"Authorization": f"Basic {KEYS[0]}"},
    {"Authorization": KEYS[0]},
    {"Authorization": f"Bearer {HASHES[0]}"},
    {"Authorization": "Bearer \u00fc"},
    {"X-Api-Key": KEYS[0]},
]


@pytest.mark.parametrize("sent", WRONG_KEYS, ids=str)
@pytest.mark.parametrize("path", ["/v1/batches", "/v1/references/acids", "/metrics", "/nowhere"])
def test_anything_else_does_not_open(locked, sent, path):
    response = post(locked, path, {}, headers=sent) if path == "/v1/batches" else locked.get(path, headers=sent)
    problem(response, "unauthorized")
    assert response.headers["WWW-Authenticate"] == 'Bearer realm="batch-carbonation"'  # RFC 6750, section 3


def test_a_key_shorter_than_32_random_bytes_does_not_open():
    short = "k" * 42
    app = create_app({"API_KEY_HASHES": sha256(short.encode()).hexdigest()})
    headers = {"Authorization": f"Bearer {short}"}
    problem(post(app.test_client(), "/v1/batches", {}, headers=headers), "unauthorized")


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/openapi.json", "/docs", "/guide", "/problems/unauthorized"])
def test_what_holds_nothing_needs_no_key(locked, path):
    assert locked.get(path).status_code == 200


# 2026-03-29 is the last day, in UTC wherever the service runs
@pytest.mark.parametrize("now, opens", [("2026-03-29T23:59:59+00:00", True), ("2026-03-30T00:00:00+00:00", False)])
def test_a_key_opens_until_its_last_day_is_over(monkeypatch, now, opens):
    app = create_app({"API_KEYS": f"till:{HASHES[0]}:2026-03-29, display:{HASHES[1]}"})
    monkeypatch.setattr(keys.time, "time", datetime.fromisoformat(now).timestamp)
    first, second = (
        post(app.test_client(), "/v1/batches", example("createBatch"), headers={"Authorization": f"Bearer {key}"})
        for key in KEYS
    )
    assert second.status_code == 200
    assert first.status_code == (200 if opens else 401)
    if not opens:
        assert problem(first, "unauthorized")["detail"] == "The key has expired; its last day was 2026-03-29."


def test_every_hash_is_compared_and_in_constant_time(locked, monkeypatch):
    compared = []

    def spy(found: str, known: str) -> bool:
        compared.append(known)
        return found == known

    assert keys.compare_digest is hmac.compare_digest  # made for it
    monkeypatch.setattr(keys, "compare_digest", spy)
    post(locked, "/v1/batches", {}, headers={"Authorization": f"Bearer {KEYS[0]}"})
    assert compared == HASHES


def test_a_new_key_opens_by_its_hash():
    key, known = keys.new_key()
    headers = {"Authorization": f"Bearer {key}"}
    client = create_app({"API_KEY_HASHES": known}).test_client()
    assert post(client, "/v1/batches", example("createBatch"), headers=headers).status_code == 200
    assert keys.new_key() != keys.new_key()


def test_the_program_writes_a_key_as_the_configuration_takes_it():
    command = [sys.executable, "-m", "service.api.keys", "Quarry-Lane"]
    printed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    key, stated = (line.rpartition(" ")[2] for line in printed.splitlines())
    client = create_app({"API_KEYS": stated}).test_client()
    headers = {"Authorization": f"Bearer {key}"}
    assert stated.startswith("quarry-lane:")
    assert post(client, "/v1/batches", example("createBatch"), headers=headers).status_code == 200


def preflight(client, origin: str):
    asked = {"Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "authorization, content-type"}
    return client.options("/v1/batches", headers={"Origin": origin, **asked})


def test_no_other_origin_is_let_in_unless_configured(client):
    for response in (preflight(client, TILL), client.get("/healthz", headers={"Origin": TILL})):
        assert [name for name, _ in response.headers if name.startswith("Access-Control")] == []


@pytest.fixture(scope="module")
def shared():
    return create_app({"API_KEY_HASHES": HASHES[0], "CORS_ORIGINS": f"{TILL}, {DISPLAY}"}).test_client()


@pytest.mark.parametrize("origin", [TILL, DISPLAY])
def test_a_preflight_of_a_configured_origin_needs_no_key(shared, origin):
    response = preflight(shared, origin)
    assert response.status_code == 200
    assert response.headers["Access-Control-Allow-Origin"] == origin
    assert "POST" in response.headers["Access-Control-Allow-Methods"]
    assert {"authorization", "content-type"} <= set(
        response.headers["Access-Control-Allow-Headers"].lower().split(", ")
    )
    assert "Access-Control-Allow-Credentials" not in response.headers
    assert int(response.headers["Access-Control-Max-Age"]) == 7200


@pytest.mark.parametrize("headers", [{"Authorization": f"Bearer {KEYS[0]}"}, {}], ids=["answer", "problem"])
def test_a_configured_origin_reads_answers_and_problems(shared, headers):
    response = post(shared, "/v1/batches", example("createBatch"), headers={"Origin": TILL, **headers})
    assert response.headers["Access-Control-Allow-Origin"] == TILL
    assert "X-Request-Id" in response.headers["Access-Control-Expose-Headers"]


@pytest.mark.parametrize("origin", ["https://other.example", "https://till.example.other.example", "null", "*"])
def test_no_origin_is_let_in_that_is_not_configured(shared, origin):
    assert "Access-Control-Allow-Origin" not in preflight(shared, origin).headers


@pytest.mark.parametrize("origin", [TILL, "https://other.example", None])
@pytest.mark.parametrize("path", ["/v1/references/acids", "/healthz", "/nowhere"])
def test_caches_keep_origins_apart(shared, origin, path):
    sent = {"Authorization": f"Bearer {KEYS[0]}"} | ({"Origin": origin} if origin else {})
    assert "Origin" in shared.get(path, headers=sent).headers["Vary"]
    assert "Origin" in shared.get(path, headers=sent | {"Authorization": ""}).headers["Vary"]
    assert "Origin" in shared.options(path, headers=sent).headers["Vary"]


def test_another_protocol_is_not_spoken(client):
    upgrade = {"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13"}
    assert client.get("/healthz", headers=upgrade).status_code == 200  # RFC 9110, section 7.8: it may be ignored
    assert post(client, "/v1/batches", example("createBatch"), headers=upgrade).status_code == 200


@pytest.mark.parametrize(
    "path, status", [("/healthz", 200), ("/v1/references/units", 200), ("/v1/batches", 405), ("/x", 404)]
)
def test_head_is_get_without_the_body(client, path, status):
    head, get = client.head(path), client.get(path)
    assert head.status_code == get.status_code == status
    assert head.data == b""
    assert head.headers["Content-Type"] == get.headers["Content-Type"]
    assert head.headers["Content-Length"] == get.headers["Content-Length"]


def test_a_table_of_another_version_is_a_problem(client):
    tag = client.get("/v1/references/units").headers["ETag"]
    assert client.get("/v1/references/units", headers={"If-Match": tag}).status_code == 200
    problem(client.get("/v1/references/units", headers={"If-Match": '"other"'}), "precondition-failed")


@pytest.mark.parametrize("path", ["/healthz", "/v1/batches", "/nowhere", "/docs", "/guide", "/problems/internal"])
def test_every_answer_has_the_security_headers(client, path):
    headers = client.get(path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]

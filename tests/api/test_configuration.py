"""Configuration: by environment only, refused at start when it is wrong, and what it opens and closes."""

import ast
import hmac
import os
import re
import subprocess
import sys
from hashlib import sha256

import pytest

from service.api import keys
from service.api.app import create_app
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
    assert "set either API_KEY_HASHES" in refusal_of_the_server(AUTH="")


def test_the_readme_lists_every_variable_and_no_other():
    def names(path: str) -> set[str]:
        texts = (n.value for n in ast.walk(ast.parse((ROOT / path).read_text())) if isinstance(n, ast.Constant))
        return {text for text in texts if isinstance(text, str) and re.fullmatch(r"[A-Z]+(_[A-Z]+)*", text)}

    read = names("service/api/app.py") | names("docker/gunicorn.conf.py")
    internal = {"GET", "POST", "OPTIONS", "WARNING", "PROMETHEUS_MULTIPROC_DIR", "MAX_CONTENT_LENGTH"}
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


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/openapi.json", "/docs", "/problems/unauthorized"])
def test_what_holds_nothing_needs_no_key(locked, path):
    assert locked.get(path).status_code == 200


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
    key, known = keys.new()
    headers = {"Authorization": f"Bearer {key}"}
    client = create_app({"API_KEY_HASHES": known}).test_client()
    assert post(client, "/v1/batches", example("createBatch"), headers=headers).status_code == 200
    assert keys.new() != keys.new()


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


@pytest.mark.parametrize("headers", [{"Authorization": f"Bearer {KEYS[0]}"}, {}], ids=["answer", "problem"])
def test_a_configured_origin_reads_answers_and_problems(shared, headers):
    response = post(shared, "/v1/batches", example("createBatch"), headers={"Origin": TILL, **headers})
    assert response.headers["Access-Control-Allow-Origin"] == TILL
    assert "X-Request-Id" in response.headers["Access-Control-Expose-Headers"]


@pytest.mark.parametrize("origin", ["https://other.example", "https://till.example.other.example", "null", "*"])
def test_no_origin_is_let_in_that_is_not_configured(shared, origin):
    assert "Access-Control-Allow-Origin" not in preflight(shared, origin).headers


@pytest.mark.parametrize("origin", [TILL, None])
def test_caches_keep_origins_apart(shared, origin):
    sent = {"Authorization": f"Bearer {KEYS[0]}"} | ({"Origin": origin} if origin else {})
    assert "Origin" in shared.get("/v1/references/acids", headers=sent).headers["Vary"]


@pytest.mark.parametrize("path", ["/healthz", "/v1/batches", "/nowhere", "/docs", "/problems/internal"])
def test_every_answer_has_the_security_headers(client, path):
    headers = client.get(path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]

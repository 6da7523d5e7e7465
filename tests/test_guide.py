"""The integrator's guide: its requests are sent, its answers are today's, its programs run.

That today's answers are right is proved elsewhere, by operation: `PROVED` in tests/test_golden.py.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from decimal import Decimal
from hashlib import sha256
from typing import Any

import pytest

from service.api.app import OPERATIONS, create_app
from tests.api.nearest import offers
from tests.asking import as_sent
from tests.document.guide import GUIDE, exchanges, programs
from tests.running import ROOT, running

KEY = "the-key-that-the-guide-is-tried-with-0123456789"
TEXT = GUIDE.read_text(encoding="utf-8")
EXCHANGES = exchanges()
every_exchange = pytest.mark.parametrize("exchange", EXCHANGES, ids=lambda e: e.name)


@pytest.fixture(scope="module")
def client():
    return create_app({"AUTH": "open"}).test_client()


@pytest.fixture(scope="module")
def service() -> Iterator[str]:
    with running(AUTH="", API_KEY_HASHES=sha256(KEY.encode()).hexdigest()) as url:
        yield url


def lacking(shown: Any, answer: Any, at: str = "") -> list[str]:
    """Return the parts of the guide that are shown and not so. Tolerance: half the last digit that the guide prints."""
    if isinstance(shown, dict):
        if not isinstance(answer, dict) or shown.keys() - answer.keys():
            return [f"{at}: {sorted(shown)} are not all in the answer"]
        return [fault for name in shown for fault in lacking(shown[name], answer[name], f"{at}/{name}")]
    if isinstance(shown, list):
        if not isinstance(answer, list) or len(shown) > len(answer):
            return [f"{at}: {len(shown)} shown"]
        return [f for i, item in enumerate(shown) for f in lacking(item, answer[i], f"{at}/{i}")]
    if isinstance(shown, Decimal):
        half = Decimal((0, (5,), int(shown.as_tuple().exponent) - 1))
        return [] if abs(shown - Decimal(str(answer))) <= half else [f"{at}: {shown} shown, {answer} answered"]
    return [] if shown == answer else [f"{at}: {shown!r} shown, {answer!r} answered"]


@every_exchange
def test_what_is_shown_is_answered(client, exchange):
    answer = client.post(exchange.path, **as_sent(exchange.request))
    shown = json.loads(exchange.shown, parse_float=Decimal)
    assert shown
    assert lacking(shown, answer.get_json()) == []
    assert answer.status_code == shown.get("status", 200)


@every_exchange
def test_what_is_refused_works_with_nearest(client, exchange):
    answer = client.post(exchange.path, **as_sent(exchange.request))
    if answer.status_code != 200:
        for mended in offers(exchange.request, answer.get_json()):
            assert client.post(exchange.path, json=mended).status_code == 200


def test_a_wrong_digit_would_show():
    assert lacking({"a": Decimal("1.48")}, {"a": 1.4805}) == []
    assert lacking({"a": Decimal("1.48")}, {"a": 1.4851}) != []
    assert lacking({"a": []}, {}) != []
    assert lacking([1, 2], [1]) != []


def test_every_consumer_is_served():
    assert {exchange.name.partition("-")[0] for exchange in EXCHANGES} == {
        "till",
        "display",
        "evening",
        "card",
        "phone",
        "draught",
        "group",
        "refused",
    }


def test_what_the_guide_names_is_there():
    paths = {operation.path for operation in OPERATIONS}
    assert {found for found in re.findall(r"`(/v1/[a-z/-]+)`", TEXT) if found != "/v1/references"} <= paths
    for name in re.findall(r"\]\((?!http)([^)#]+)\)", TEXT):
        assert (GUIDE.parent / name).exists(), name
    assert "openapi/GUIDE.md" in (ROOT / "README.md").read_text(encoding="utf-8")


def ran(*command: str, given: str, service: str) -> str:
    environment = os.environ | {"SERVICE": service, "KEY": KEY}
    done = subprocess.run(command, input=given, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_python_program_runs(service):
    program, _ = programs("python")
    ways = ran(sys.executable, "-", given=program, service=service).splitlines()
    assert ways[0] == "/fill could be 0.75"
    assert ways[-1].startswith("/target could be {")


def test_the_program_of_a_till_runs(service):
    """Eleven glasses of two bottles of five: the tenth is the last."""
    _, program = programs("python")
    assert ran(sys.executable, "-", given=program, service=service).splitlines() == [
        "HB-07 empty",
        "HB-08 empty",
        "highball 0 left, 1 missing",
        "/sales/3 Sold 1 more than the vessels of highball hold by their logs; the rest of the sale counts.",
    ]


@pytest.mark.skipif(shutil.which("curl") is None, reason="curl is not on this machine")
def test_the_shell_command_runs(service):
    first, _ = programs("sh")
    assert json.loads(ran("sh", given=first, service=service))["points"][0]["status"] == "ok"


@pytest.mark.skipif(shutil.which("curl") is None, reason="curl is not on this machine")
def test_the_list_of_a_station_comes_by_curl(service):
    _, listed = programs("sh")
    lines = ran("sh", given=listed, service=service).splitlines()
    assert len(lines) > 20
    assert max(map(len, lines)) <= 42

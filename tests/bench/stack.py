"""The service beside the same core behind FastAPI and pydantic: what Flask, marshmallow and apispec cost or save."""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from statistics import mean

import requests

from tests.bench.wrk import PREP_SHEET, SET_POINTS, Asked, drive
from tests.faults.instance import instance
from tests.running import ROOT, START_SECONDS, free_port, running, wait_for

AIM = {SET_POINTS: 1.0, PREP_SHEET: 0.8}
ROUNDS = 3
WORKERS = 2


CONSTANT = Asked("a constant answer, nothing else", "/", SET_POINTS.file, 0.0)


def run() -> Iterator[str]:
    """A line for each request that both answer, asked in turns; then what the bare frameworks do in the same run.

    The difference between the bare ones, Flask under gunicorn and FastAPI under uvicorn, no service can make up for.
    """
    yield f"{'':34}{'req/s':>8}{'FastAPI':>9}{'ratio':>8}{'aim':>7}{'p99 ms':>9}{'FastAPI':>9}{'CPU ms more':>13}"
    with (
        instance() as service,
        _fastapi() as other,
        running("tests.bench.constant:create_app()") as bare,
    ):
        for asked in (SET_POINTS, PREP_SHEET):
            _check_same(service.url, other, asked)
            yield _compared(asked, service.url, other)
        yield _compared(CONSTANT, bare, other)


def _compared(asked: Asked, one: str, other: str) -> str:
    """Return the line of one request, asked of both servers in turns."""
    both = [(drive(one + asked.path, asked.file), drive(other + asked.path, asked.file)) for _ in range(ROUNDS)]
    ours, theirs = (mean(pair[side].per_second for pair in both) for side in (0, 1))
    late, later = (mean(pair[side].p99_ms for pair in both) for side in (0, 1))
    aim = f"{AIM[asked]:7.2f}" if asked in AIM else f"{'':7}"
    more_ms = 1e3 * WORKERS * (1.0 / ours - 1.0 / theirs)
    return f"{asked.name:34}{ours:8.0f}{theirs:9.0f}{ours / theirs:8.2f}{aim}{late:9.1f}{later:9.1f}{more_ms:13.2f}"


def _check_same(ours: str, theirs: str, asked: Asked) -> None:
    """Both give the same answer, or the comparison is void."""
    body, headers = asked.file.read_bytes(), {"Content-Type": "application/json"}
    both = [requests.post(url + asked.path, data=body, headers=headers, timeout=30) for url in (ours, theirs)]
    assert [response.status_code for response in both] == [200, 200], [response.text[:2000] for response in both]
    assert json.loads(both[0].content) == json.loads(both[1].content)


@contextmanager
def _fastapi() -> Iterator[str]:
    port = free_port()
    options = [f"--port={port}", "--workers=2", "--loop=uvloop", "--http=httptools", "--no-access-log"]
    process = subprocess.Popen(
        [sys.executable, "-m", "uvicorn", "tests.bench.fastapi_app:app", *options, "--log-level=warning"], cwd=ROOT
    )
    try:
        url = f"http://127.0.0.1:{port}"
        wait_for(url, process)
        yield url
    finally:
        process.terminate()
        process.wait(timeout=START_SECONDS)

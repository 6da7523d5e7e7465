"""Starts the service as it is deployed, on a free loopback port, and ends it by its own process id."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import requests

ROOT = Path(__file__).resolve().parent.parent
START_SECONDS = 30


def free_port() -> int:
    """A loopback port that was free a moment ago."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port: int = listener.getsockname()[1]
        return port


@contextmanager
def running(*gunicorn: str, **environment: str) -> Iterator[str]:
    """The service under gunicorn, without keys unless the environment says otherwise; yields its base URL.

    gunicorn: further arguments, another application among them
    environment: configuration that differs
    """
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]
        process = start(*gunicorn, environment={"BIND": f"fd://{listener.fileno()}"} | environment, kept=listener)
    try:
        url = f"http://127.0.0.1:{port}"
        wait_for(url, process)
        yield url
    finally:
        process.terminate()
        process.wait(timeout=START_SECONDS)


def start(
    *gunicorn: str, environment: Mapping[str, str], kept: socket.socket | None = None, log: IO[bytes] | None = None
) -> subprocess.Popen[bytes]:
    """The process of the service, not waited for.

    environment: configuration that differs, where it listens among it
    kept: an open socket that it takes over
    log: what takes its output; the test's own unless given
    """
    settings = {"AUTH": "open", "API_KEY_HASHES": "", "LOG_LEVEL": "warning"}
    return subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "-c", "docker/gunicorn.conf.py", *gunicorn],
        cwd=ROOT,
        env={**os.environ, **settings, **environment},
        pass_fds=[] if kept is None else [kept.fileno()],
        stdout=log,
        stderr=log,
    )


def wait_for(url: str, process: subprocess.Popen[bytes]) -> None:
    """Until the service can answer.

    raises: RuntimeError if it ended instead, TimeoutError
    """
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise RuntimeError(f"gunicorn ended with {process.returncode} before it was ready")
        try:
            if requests.get(f"{url}/readyz", timeout=2).ok:
                return
        except requests.RequestException:
            pass
        time.sleep(0.05)
    raise TimeoutError(f"{url}/readyz is not ready after {START_SECONDS} s")

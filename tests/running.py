"""Starts the service as it is deployed, on a free loopback port, and ends it by its own process id."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import requests

ROOT = Path(__file__).resolve().parent.parent
START_SECONDS = 30


@contextmanager
def running(*gunicorn: str, **environment: str) -> Iterator[str]:
    """The service under gunicorn, without keys unless the environment says otherwise; yields its base URL.

    gunicorn: further arguments, another application among them
    environment: configuration that differs
    """
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]
        settings = {"AUTH": "open", "API_KEY_HASHES": "", "LOG_LEVEL": "warning", "BIND": f"fd://{listener.fileno()}"}
        process = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "-c", "docker/gunicorn.conf.py", *gunicorn],
            cwd=ROOT,
            env=os.environ | settings | environment,
            pass_fds=[listener.fileno()],
        )
    try:
        url = f"http://127.0.0.1:{port}"
        _wait(url, process)
        yield url
    finally:
        process.terminate()
        process.wait(timeout=START_SECONDS)


def _wait(url: str, process: subprocess.Popen[bytes]) -> None:
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

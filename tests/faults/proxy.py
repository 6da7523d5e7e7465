"""nginx as it is deployed, on a free loopback port, in front of services of the test's own."""

import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import requests

from tests.running import ROOT, START_SECONDS, free_port

ENOUGH = """limit_req_zone $binary_remote_addr zone=requests:1m rate=100000r/s;
limit_conn_zone $binary_remote_addr zone=connections:1m;
"""


@contextmanager
def proxied(*addresses: str, rates: str = ENOUGH, ready: int = 200) -> Iterator[str]:
    """The proxy in front of services at address:port; yields its base URL.

    rates: how much one address may ask for; all that a test can, unless it says otherwise
    ready: the status by which it is known to be up
    """
    port = free_port()
    with TemporaryDirectory() as folder:
        _configure(Path(folder), port, addresses, rates)
        command = ["nginx", "-p", folder, "-c", "nginx.conf", "-e", "stderr", "-g", "daemon off;"]
        process = subprocess.Popen(command, stderr=subprocess.DEVNULL)
        try:
            url = f"http://127.0.0.1:{port}"
            _wait(url, process, ready)
            yield url
        finally:
            process.terminate()
            process.wait(timeout=START_SECONDS)


def _configure(folder: Path, port: int, addresses: tuple[str, ...], rates: str) -> None:
    shutil.copytree(ROOT / "docker" / "nginx", folder, dirs_exist_ok=True)
    main = folder / "nginx.conf"
    main.write_text(main.read_text().replace("/tmp/", f"{folder}/"))
    upstream = folder / "upstream.conf"
    for replica, address in (("replica-1:8080", addresses[0]), ("replica-2:8080", addresses[-1])):
        upstream.write_text(upstream.read_text().replace(replica, address))
    (folder / "listen.conf").write_text(f"listen 127.0.0.1:{port};\n")
    (folder / "rates.conf").write_text(rates)
    folder.chmod(0o755)  # nginx's workers may run as another user


def _wait(url: str, process: subprocess.Popen[bytes], ready: int) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise RuntimeError(f"nginx ended with {process.returncode}")
        try:
            if requests.get(f"{url}/readyz", timeout=30).status_code == ready:
                return
        except requests.ConnectionError:
            pass
        time.sleep(0.05)
    raise TimeoutError(f"{url} is not ready after {START_SECONDS} s")

"""nginx as it is deployed, on a free loopback port, in front of services of the test's own."""

import os
import re
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import requests

from tests.faults.names import Names, names
from tests.running import ROOT, START_SECONDS, free_port

ENOUGH = """limit_req_zone $binary_remote_addr zone=address:1m rate=100000r/s;
limit_req_zone $http_authorization zone=key:1m rate=100000r/s;
limit_conn_zone $connection zone=connections:1m;
"""
AS_DEPLOYED = (ROOT / "docker" / "nginx" / "rates.conf").read_text()


@dataclass(frozen=True)
class Proxy:
    """One that runs.

    names: what stands behind it
    """

    url: str
    process: subprocess.Popen[bytes]
    folder: Path
    names: Names

    @property
    def address(self) -> tuple[str, int]:
        host, port = self.url.removeprefix("http://").split(":")
        return host, int(port)

    def processes(self) -> list[int]:
        """Return the ids of nginx's own processes, its master first."""
        master = int((self.folder / "nginx.pid").read_text())
        children = Path(f"/proc/{master}/task/{master}/children").read_text().split()
        return [master, *map(int, children)]

    def said(self) -> str:
        """Return its log of refusals and of its own errors."""
        return (self.folder / "said").read_text()


@contextmanager
def proxied(*addresses: str, large: int | None = None, rates: str = ENOUGH, ready: int = 200) -> Iterator[str]:
    """The proxy in front of services; yields its base URL; see `proxy`."""
    with proxy(*addresses, large=large, rates=rates, ready=ready) as one:
        yield one.url


@contextmanager
def proxy(
    *addresses: str, large: int | None = None, rates: str = ENOUGH, ready: int = 200, tls: Path | None = None
) -> Iterator[Proxy]:
    """The proxy in front of services at host:port, all with the same port.

    large: the port of their pool for what takes long; the same port unless given
    rates: how much one address may ask for; all that a test can, unless it says otherwise
    ready: the status by which it is known to be up
    tls: a folder with what docker/nginx/tls is to hold
    """
    port, behind = free_port(), int(addresses[0].partition(":")[2])
    with TemporaryDirectory() as name, names(*(address.partition(":")[0] for address in addresses)) as known:
        folder = Path(name)
        _configure(folder, port, known.port, (behind, large or behind), rates)
        if tls:
            shutil.copytree(tls, folder / "tls", dirs_exist_ok=True)
        with (folder / "said").open("ab") as said:
            process = subprocess.Popen(
                [folder / "run"], env={**os.environ, "TMPDIR": name}, stdout=said, stderr=subprocess.STDOUT
            )
        try:
            one = Proxy(f"http://127.0.0.1:{port}", process, folder, known)
            _wait(one, ready)
            yield one
        finally:
            process.terminate()
            process.wait(timeout=START_SECONDS)


def _configure(folder: Path, port: int, resolver: int, behind: tuple[int, int], rates: str) -> None:
    shutil.copytree(ROOT / "docker" / "nginx", folder, dirs_exist_ok=True)
    main, replicas = folder / "nginx.conf", folder / "replicas.conf"
    main.write_text(main.read_text().replace("/tmp/", f"{folder}/"))
    text = replicas.read_text().replace("127.0.0.11 valid=1s", f"127.0.0.1:{resolver} valid=1s")
    text = re.sub("replica:8080", f"replica.test:{behind[0]}", text)
    replicas.write_text(re.sub("replica:8081", f"replica.test:{behind[1]}", text))
    listen = folder / "listen.conf"
    listen.write_text(listen.read_text().replace("listen 8080", f"listen 127.0.0.1:{port}"))
    (folder / "rates.conf").write_text(rates)
    folder.chmod(0o755)  # nginx's workers may run as another user


def _wait(one: Proxy, ready: int) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if one.process.poll() is not None:
            raise RuntimeError(f"nginx ended with {one.process.returncode}: {one.said()[-2000:]}")
        try:
            if requests.get(f"{one.url}/readyz", timeout=30).status_code == ready:
                return
        except requests.ConnectionError:
            pass
        time.sleep(0.05)
    raise TimeoutError(f"{one.url} is not ready after {START_SECONDS} s: {one.said()[-2000:]}")

"""How gunicorn runs the service; the environment says what differs between places.

BIND          address:port, default 127.0.0.1:8080
METRICS_BIND  address:port for Prometheus, a port of its own that callers do not reach; none unless set
WORKERS       processes, 1 to 64, default 2
PROXIES       comma-separated addresses or networks whose forwarded headers are believed, default loopback; * is all
LOG_LEVEL     debug, info (the default; a line a request), warning, error or critical
"""

import atexit
import gc
import os
import re
from collections.abc import Callable
from ipaddress import ip_network
from pathlib import Path
from shutil import rmtree
from socket import socket
from tempfile import mkdtemp
from typing import Any

SHARED_MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 - a slow disk must not kill a worker


def setting(name: str, default: str, fits: Callable[[str], bool], meaning: str) -> str:
    """A setting of the environment.

    raises: ValueError for one that does not fit
    """
    stated = os.environ.get(name) or default
    if not fits(stated):
        raise ValueError(f"{name} must be {meaning}")
    return stated


def is_address(stated: str) -> bool:
    """Whether it is a host or an address with a port; or an open socket that another process hands over."""
    host_and_port = re.fullmatch(r"(?:\[[0-9a-fA-F:.]+\]|[A-Za-z0-9.-]+):([0-9]{1,5})", stated)
    return bool(re.fullmatch(r"fd://[0-9]{1,4}", stated)) or bool(host_and_port and 0 < int(host_and_port[1]) < 65536)


def are_networks(stated: str) -> bool:
    """Whether each of the list is an address or a network."""
    try:
        return stated == "*" or all(ip_network(part.strip()) for part in stated.split(","))
    except ValueError:
        return False


LEVELS = ("debug", "info", "warning", "error", "critical")
bind = [setting("BIND", "127.0.0.1:8080", is_address, "address:port")]
if metrics_bind := setting("METRICS_BIND", "", lambda s: not s or is_address(s), "address:port, or not set"):
    if metrics_bind.rpartition(":")[2] == bind[0].rpartition(":")[2]:
        raise ValueError("METRICS_BIND must have a port of its own, not that of BIND")
    bind.append(metrics_bind)
    MASTER = os.getpid()
    COUNTS = mkdtemp(prefix=f"metrics-{MASTER}-", dir=SHARED_MEMORY)
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = COUNTS  # before anything imports prometheus_client, which reads it then


@atexit.register
def leave_nothing() -> None:
    """Of the master, remove the counts; workers end by themselves and run this too."""
    if metrics_bind and os.getpid() == MASTER:
        rmtree(COUNTS)


from gunicorn.workers.sync import SyncWorker  # noqa: E402
from prometheus_client.multiprocess import mark_process_dead  # noqa: E402

from service.api import logs, metrics  # noqa: E402

wsgi_app = "service.api.app:create_app()"
workers = int(setting("WORKERS", "2", lambda s: bool(re.fullmatch("[1-9]|[1-5][0-9]|6[0-4]", s)), "1 to 64"))
forwarded_allow_ips = setting("PROXIES", "127.0.0.1,::1", are_networks, "comma-separated addresses or networks, or *")
logconfig_dict = logs.configuration(setting("LOG_LEVEL", "info", LEVELS.__contains__, f"one of {', '.join(LEVELS)}"))


class Connection(socket):
    """A caller's, which sends the head of an answer along with the first of its body.

    Killed between the two, a worker would leave the proxy half an answer, which it can no longer ask another for.
    """

    head = b""

    def sendall(self, data: Any, flags: int = 0) -> None:
        if data.startswith(b"HTTP/1.1 ") and data.endswith(b"\r\n\r\n"):
            self.head = data
            return
        head, self.head = self.head, b""
        super().sendall(head + data if head else data, flags)

    def shutdown(self, how: int) -> None:
        if self.head:
            super().sendall(self.head)  # of an answer without a body
        super().shutdown(how)


class Worker(SyncWorker):  # type: ignore[misc]
    """gunicorn's own, the best p99 behind a proxy that buffers requests."""

    def handle(self, listener: Any, client: socket, addr: Any) -> None:
        super().handle(listener, Connection(fileno=client.detach()), addr)


worker_class = Worker
preload_app = True  # a fault in the configuration ends the start, not each worker
http_parser = "python"
control_socket_disable = True
if SHARED_MEMORY:
    worker_tmp_dir = SHARED_MEMORY

timeout = 30
graceful_timeout = 20
limit_request_line = 8190  # the proxy's is half of it
limit_request_fields = 64
limit_request_field_size = 8190


def when_ready(server: Any) -> None:
    """Import what plots need where the workers share it, and keep what is there from the collector's rounds."""
    import matplotlib.backends.backend_svg  # noqa: F401, PLC0415 - once the application is known to start

    gc.freeze()


def post_fork(server: Any, worker: Any) -> None:
    """Of a worker that begins, say that it lives."""
    metrics.WORKERS.set(1)


def child_exit(server: Any, worker: Any) -> None:
    """Of a worker that is gone, gauges end and counts stay."""
    if metrics_bind:
        mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]

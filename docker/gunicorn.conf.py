"""How gunicorn runs the service; the environment says what differs between places.

BIND          address:port, default 127.0.0.1:8080
LARGE_BIND    address:port for what takes long, with workers of its own; the proxy says what; none unless set
METRICS_BIND  address:port for Prometheus and probes, not for callers, with a worker of its own; none unless set
WORKERS       processes, 1 to 64, default 2
LARGE_WORKERS the same behind LARGE_BIND, default 1
PROXIES       comma-separated addresses or networks whose forwarded headers are believed, default loopback; * is all
LOG_LEVEL     debug, info (the default; a line a request), warning, error or critical
"""

import atexit
import gc
import os
import re
from collections import Counter
from collections.abc import Callable
from ipaddress import ip_network
from pathlib import Path
from shutil import rmtree
from tempfile import mkdtemp
from typing import Any

gc.disable()  # until all is loaded: see when_ready
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
    """Tell whether it is a host or an address with a port; or an open socket that another process hands over."""
    host_and_port = re.fullmatch(r"(?:\[[0-9a-fA-F:.]+\]|[A-Za-z0-9.-]+):([0-9]{1,5})", stated)
    return bool(re.fullmatch(r"fd://[0-9]{1,4}", stated)) or bool(host_and_port and 0 < int(host_and_port[1]) < 65536)


def are_networks(stated: str) -> bool:
    """Tell whether each of the list is an address or a network."""
    try:
        return stated == "*" or all(ip_network(part.strip()) for part in stated.split(","))
    except ValueError:
        return False


def port_of(address: str) -> int | None:
    """The port of an address; None for an open socket, whose port only its maker knows."""
    port = address.rpartition(":")[2]
    return int(port) if port.isdecimal() else None


def of_its_own(name: str) -> str:
    """An address with a port that no address before it has, or nothing.

    raises: ValueError for another
    """
    stated = setting(name, "", lambda s: not s or (is_address(s) and bool(port_of(s))), "address:port, or not set")
    if stated and port_of(stated) in map(port_of, bind):
        raise ValueError(f"{name} must have a port of its own")
    return stated


def workers_of(name: str, default: str) -> int:
    """Return how many processes a pool has."""
    return int(setting(name, default, lambda s: bool(re.fullmatch("[1-9]|[1-5][0-9]|6[0-4]", s)), "1 to 64"))


LEVELS = ("debug", "info", "warning", "error", "critical")
bind = [setting("BIND", "127.0.0.1:8080", is_address, "address:port")]
if large_bind := of_its_own("LARGE_BIND"):
    bind.append(large_bind)
if metrics_bind := of_its_own("METRICS_BIND"):
    bind.append(metrics_bind)
    MASTER = os.getpid()
    COUNTS = mkdtemp(prefix=f"metrics-{MASTER}-", dir=SHARED_MEMORY)
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = COUNTS  # before anything imports prometheus_client, which reads it then


@atexit.register
def leave_nothing() -> None:
    """Remove the counts, as the master; workers end by themselves and run this too."""
    if metrics_bind and os.getpid() == MASTER:
        rmtree(COUNTS)


from prometheus_client.multiprocess import mark_process_dead  # noqa: E402

from docker.worker import Pool, Worker  # noqa: E402
from service.api import logs  # noqa: E402

wsgi_app = "service.api.app:create_app()"
POOLS = [Pool("ordinary", None, workers_of("WORKERS", "2"))]
LARGE = workers_of("LARGE_WORKERS", "1")  # read in any case, so that a wrong one does not lie in wait
if large_bind:
    POOLS.append(Pool("large", port_of(large_bind), LARGE, nice=5))
if metrics_bind:
    POOLS.append(Pool("attendant", port_of(metrics_bind), 1))
PORTS = {pool.port for pool in POOLS if pool.port}
workers = sum(pool.size for pool in POOLS)
forwarded_allow_ips = setting("PROXIES", "127.0.0.1,::1", are_networks, "comma-separated addresses or networks, or *")
logconfig_dict = logs.configuration(setting("LOG_LEVEL", "info", LEVELS.__contains__, f"one of {', '.join(LEVELS)}"))
worker_class = Worker
preload_app = True  # a fault in the configuration ends the start, not each worker
http_parser = "python"
control_socket_disable = True
LARGE_BACKLOG = 16
"""Waiting for each replica's large pool; the proxy has no more of them at once than all replicas hold."""
if SHARED_MEMORY:
    worker_tmp_dir = SHARED_MEMORY

timeout = 30
graceful_timeout = 20
limit_request_line = 8190  # the proxy's is half of it
limit_request_fields = 64
limit_request_field_size = 8190


def when_ready(server: Any) -> None:
    """Keep few waiting for the large pool; from here on there is garbage, but none in what is there by now."""
    for listener in server.LISTENERS:
        if large_bind and listener.getsockname()[1] == port_of(large_bind):
            listener.sock.listen(LARGE_BACKLOG)
    gc.freeze()
    gc.enable()


def pre_fork(server: Any, worker: Any) -> None:
    """Give a worker to the pool that lacks one."""
    living = Counter(each.pool for each in server.WORKERS.values())
    worker.pool = next((pool for pool in POOLS if living[pool] < pool.size), POOLS[0])
    worker.others = frozenset(PORTS)


def child_exit(server: Any, worker: Any) -> None:
    """End the gauges of a worker that is gone; its counts stay."""
    if metrics_bind:
        mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]

"""How gunicorn runs the service; the environment says what differs between places.

BIND       address:port, default 127.0.0.1:8080
WORKERS    processes, default 2
PROXIES    comma-separated addresses or networks whose forwarded headers are believed, default loopback
LOG_LEVEL  default info
"""

import os
from pathlib import Path

wsgi_app = "service.api.app:create_app()"
bind = os.environ.get("BIND", "127.0.0.1:8080")
workers = int(os.environ.get("WORKERS", "2"))
loglevel = os.environ.get("LOG_LEVEL", "info")
forwarded_allow_ips = os.environ.get("PROXIES", "127.0.0.1,::1")

worker_class = "sync"  # best p99 behind a proxy that buffers requests
preload_app = True  # a fault in the configuration ends the start, not each worker
http_parser = "python"
control_socket_disable = True
if Path("/dev/shm").is_dir():  # noqa: S108 - heartbeats in memory: a slow disk must not kill a worker
    worker_tmp_dir = "/dev/shm"  # noqa: S108

timeout = 30
graceful_timeout = 20
limit_request_line = 4094
limit_request_fields = 64
limit_request_field_size = 8190

"""CPU and memory of one request of each operation: the committed examples, in process."""

import time
import tracemalloc
from collections.abc import Iterator

from flask.testing import FlaskClient

from service.api.endpoint import MEDIA_TYPES
from tests.bench.in_process import client
from tests.clients.operations import EXAMPLES, Operation, operations

ROUNDS = 20


def run() -> Iterator[str]:
    """A line for each operation."""
    yield f"{'':26}{'CPU ms':>8}{'body kB':>9}{'answer kB':>11}{'MB at most':>12}"
    asking = client()
    for operation in operations():
        if operation.body is not None:
            yield _told(asking, operation)


def _told(asking: FlaskClient, operation: Operation) -> str:
    (file,) = EXAMPLES.glob(f"{operation.name}.*")
    body, headers = file.read_bytes(), {"Content-Type": MEDIA_TYPES[file.suffix.removeprefix(".")]}
    spent, answer = [], b""
    for _ in range(ROUNDS):
        began = time.process_time()
        answer = asking.post(operation.path, data=body, headers=headers).get_data()
        spent.append(1e3 * (time.process_time() - began))
    tracemalloc.start()  # what Python takes for it at most; it slows the request, so its time was taken before
    asking.post(operation.path, data=body, headers=headers).get_data()
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    sizes = f"{len(body) / 1024.0:9.1f}{len(answer) / 1024.0:11.1f}{most / 1024.0**2:12.2f}"
    return f"{operation.name:26}{sorted(spent)[ROUNDS // 4]:8.2f}{sizes}"

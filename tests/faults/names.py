"""A name server for one name, as docker and Kubernetes have one: replicas come and go behind it (RFC 1035)."""

import socket
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager

HEADER = struct.Struct("!6H")
ADDRESS = struct.Struct("!HHHIH4s")
ANSWERED = 0x8580
TO_NAME_OF_QUESTION = 0xC00C
ONE_ADDRESS, INTERNET = 1, 1


class Names:
    """The hosts that the name stands for now; a list that tests change."""

    def __init__(self, hosts: list[str], port: int) -> None:
        self.hosts, self.port = hosts, port

    def answer(self, asked: bytes) -> bytes:
        """The reply to a query."""
        number, *_ = HEADER.unpack_from(asked)
        question = asked[HEADER.size :]
        question = question[: question.index(b"\0") + 5]
        wanted = struct.unpack("!H", question[-4:-2])[0] == ONE_ADDRESS
        found = [
            ADDRESS.pack(TO_NAME_OF_QUESTION, ONE_ADDRESS, INTERNET, 1, 4, socket.inet_aton(host))
            for host in (self.hosts if wanted else [])
        ]
        return HEADER.pack(number, ANSWERED, 1, len(found), 0, 0) + question + b"".join(found)


@contextmanager
def names(*hosts: str) -> Iterator[Names]:
    """A server on a free loopback port that ends with the block."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as server:
        server.bind(("127.0.0.1", 0))
        server.settimeout(0.2)
        known, over = Names(list(hosts), server.getsockname()[1]), threading.Event()

        def serve() -> None:
            while not over.is_set():
                try:
                    asked, caller = server.recvfrom(512)
                except TimeoutError:
                    continue
                server.sendto(known.answer(asked), caller)

        thread = threading.Thread(target=serve)
        thread.start()
        try:
            yield known
        finally:
            over.set()
            thread.join()

"""A mail server that keeps only what it has to count, and can refuse or dawdle when told to."""

import re
import socket
import time
from collections import Counter
from collections.abc import Callable
from threading import Lock
from typing import Any

from aiosmtpd.controller import Controller

MESSAGE_ID = re.compile(rb"^message-id:\s*(<[^>]+>)", re.IGNORECASE | re.MULTILINE)
HOST = "127.0.0.1"
ACCEPTED, REFUSED = "250 Taken", "451 Not now, try again later"


class Sink:
    """Takes mail on a port of this machine, in a thread of its own.

    `on_arrival` is called with the number of messages so far and the sender's TCP port, before the
    sender hears "250".
    """

    def __init__(self, on_arrival: Callable[[int, int], None]) -> None:
        self.arrived: Counter[str] = Counter()
        self.moments: list[float] = []
        self.refused = 0
        self.refusing = False
        self._on_arrival = on_arrival
        self._lock = Lock()
        self._server = Controller(self, hostname=HOST, port=free_port())

    @property
    def url(self) -> str:
        """Where the site shall send, as its setting EMAIL_URL says it."""
        return f"smtp://{HOST}:{self._server.port}"

    def __enter__(self) -> "Sink":
        self._server.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._server.stop()

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        """Count a message by its Message-ID; the sender hears of it only afterwards."""
        if self.refusing:
            self.refused += 1
            return REFUSED
        found = MESSAGE_ID.search(envelope.content)
        with self._lock:
            self.arrived[found[1].decode() if found else "no key"] += 1
            self.moments.append(time.monotonic())
            number = len(self.moments)
        self._on_arrival(number, session.peer[1])
        return ACCEPTED


def free_port() -> int:
    """Return a TCP port that nobody listens on; the controller wants a number."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])

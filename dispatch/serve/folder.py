"""Where a running demo keeps its things: the database, the logs, the secret key, the lock.

The folder is ``.byrelight`` in the checkout, or the one ``BYRELIGHT_DATA`` names. Sockets live in a
short folder of their own under /tmp, for a socket's path may have 107 characters at most.
"""

import fcntl
import hashlib
import os
import secrets
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from dispatch.serve.account import Account, can_enter, give
from dispatch.serve.errors import ServeError

CHECKOUT = Path(__file__).resolve().parent.parent.parent
NAMED = "BYRELIGHT_DATA"


def make_folder(path: Path, mode: int) -> Path:
    """Make the folder ours with that mode; refuse one that somebody else put there."""
    try:
        path.mkdir(parents=True, exist_ok=True)
        if path.stat().st_uid != os.geteuid() or path.is_symlink():
            raise ServeError(
                f"{path} belongs to another user. Run as that user, or set {NAMED} to a folder of your own."
            )
        path.chmod(mode)
    except OSError as problem:
        raise ServeError(
            f"{path} cannot be used: {problem.strerror}. Set {NAMED} to a folder that you can write to."
        ) from problem
    return path


class DataFolder:
    """The folder, held by one supervisor at a time through a lock the kernel drops when it ends."""

    def __init__(self, path: Path, account: Account | None) -> None:
        self.path, self.account = path, account
        self.logs = make_folder(path / "logs", 0o700)
        self.environment = path / "environment"
        self._lock: int | None = None

    @property
    def servers(self) -> Path:
        """The folder the server account owns."""
        path = self.path / "servers"
        if not path.exists():
            make_folder(path, 0o700)
            give(path, self.account)
        return path

    def hold(self) -> None:
        """Take the lock; refuse, naming the holder, when another supervisor has it."""
        self._lock = os.open(self.path / "lock", os.O_RDWR | os.O_CREAT, 0o600)
        try:
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            holder = os.pread(self._lock, 200, 0).decode().strip() or "another process"
            raise ServeError(
                f"Byrelight already runs on {self.path}: {holder}. Use that one, stop it first, "
                f"or set {NAMED} to another folder."
            ) from None
        self.describe(f"process {os.getpid()}")

    def describe(self, holder: str) -> None:
        """Write who holds the lock, for the next one who asks."""
        if self._lock is not None:
            os.ftruncate(self._lock, 0)
            os.pwrite(self._lock, holder.encode(), 0)

    def sockets(self) -> Path:
        """Return a new short folder for socket files, and remove the one of a killed run."""
        note = self.path / "sockets"
        if note.exists():
            shutil.rmtree(note.read_text(), ignore_errors=True)
        made = socket_folder(self.account)
        note.write_text(str(made))
        return made

    def secret_key(self) -> str:
        """Return the demo's own secret key, made at the first start."""
        kept = self.path / "secret-key"
        if not kept.exists() or len(kept.read_text()) < 50:
            write_private(kept, secrets.token_urlsafe(50))
        return kept.read_text()


def write_private(path: Path, text: str) -> None:
    """Write a file only we can read, whole or not at all."""
    handle, name = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "w") as out:
        out.write(text)
    Path(name).replace(path)


def socket_folder(account: Account | None) -> Path:
    """Make a folder for socket files that only the server account (and root) can enter."""
    short = "/tmp" if os.access("/tmp", os.W_OK) else None
    made = Path(tempfile.mkdtemp(prefix="byrelight-", dir=short))
    give(made, account)
    return made


def folder_path(environment: Mapping[str, str], account: Account | None) -> Path:
    """Return the data folder, made; one the server account can reach."""
    named = environment.get(NAMED)
    path = make_folder(Path(named).expanduser().resolve() if named else CHECKOUT / ".byrelight", 0o711)
    if can_enter(path, account):
        return path
    if named:
        raise ServeError(
            f"{path} cannot be reached by the user 'nobody', which PostgreSQL runs as when you are root. "
            f"Set {NAMED} to a folder outside private homes."
        )
    return make_folder(public_place(), 0o711)


def public_place() -> Path:
    """Return the folder for root's servers when the checkout lies in a private home."""
    return Path("/var/tmp") / f"byrelight-{hashlib.sha256(os.fsencode(CHECKOUT)).hexdigest()[:12]}"


def places(environment: Mapping[str, str]) -> list[Path]:
    """Return where a demo of this checkout may keep its data."""
    named = environment.get(NAMED)
    return [Path(named)] if named else [CHECKOUT / ".byrelight", public_place()]

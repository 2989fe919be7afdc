"""One process that the supervisor keeps: started on a leash, stopped in good order."""

import contextlib
import os
import signal
import subprocess
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from dispatch.serve.account import Account, switch
from dispatch.serve.leash import leash


@dataclass
class Child:
    """A program, how it is started and how it is stopped.

    ``death_signal`` is what the kernel sends when the supervisor is gone, ``stop_signal`` what the
    supervisor sends in an orderly stop; after ``grace_s`` seconds it sends SIGKILL. Output goes to
    ``log``, which is begun anew at each start, or to the terminal. ``tier`` is 0 for a server that
    others use and 1 for what uses it.
    """

    name: str
    argv: Sequence[str | Path]
    env: Mapping[str, str] | None = None
    cwd: Path = Path("/")
    account: Account | None = None
    log: Path | None = None
    pass_fds: Sequence[int] = ()
    stop_signal: signal.Signals = signal.SIGTERM
    death_signal: signal.Signals = signal.SIGKILL
    grace_s: float = 10
    tier: int = 0
    process: "subprocess.Popen[bytes] | None" = field(default=None, init=False)

    def start(self) -> None:
        """Start the program in a session of its own, so that Ctrl-C reaches only the supervisor."""
        with self._output() as output:
            self.process = subprocess.Popen(
                self.argv,
                env=None if self.env is None else dict(self.env),
                cwd=self.cwd,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=output,
                pass_fds=self.pass_fds,
                start_new_session=True,
                preexec_fn=leash(self.death_signal),  # no thread of ours runs yet
                **switch(self.account),
            )

    def _output(self) -> "contextlib.AbstractContextManager[IO[bytes] | None]":
        return contextlib.nullcontext() if self.log is None else self.log.open("wb")

    @property
    def ended(self) -> int | None:
        """The exit status (minus the signal's number when killed), or None while it runs."""
        return None if self.process is None else self.process.poll()

    @property
    def running(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def ask_to_stop(self) -> None:
        if self.process is not None and self.running:
            self.process.send_signal(self.stop_signal)

    def stop(self) -> None:
        """Return when the program is gone: by itself, having been asked, or killed after its grace."""
        if self.process is None:
            return
        try:
            self.process.wait(self.grace_s)
        except subprocess.TimeoutExpired:
            self.kill()
        self.process.wait()

    def kill(self) -> None:
        """End the program and the processes of its session at once."""
        if self.process is not None and self.running:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)

    def last_words(self, lines: int = 12) -> str:
        """Return the end of its log, to show beside the news that it ended."""
        if self.log is None or not self.log.exists():
            return ""
        return "\n".join(self.log.read_text(errors="replace").splitlines()[-lines:])

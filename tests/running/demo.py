"""``manage.py demo`` as a person runs it, on a data folder of its own."""

import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

from dispatch.serve.folder import CHECKOUT
from tests.running.processes import Process, alive, command, descendants
from tests.running.waiting import eventually

# The demo finds none of the test run's own servers and settings.
HIDDEN = ("DATABASE_URL", "REDIS_URL", "REDIS_PREFIX", "DJANGO_ALLOW_ASYNC_UNSAFE", "TEST_TEMPLATE")
PATIENCE_S = 120  # the first start migrates


class RunningDemo:
    """One start; what it prints goes to a file."""

    def __init__(self, data: Path, output: Path, *arguments: str) -> None:
        environment = {name: value for name, value in os.environ.items() if name not in HIDDEN}
        self.output = output
        with output.open("w") as out:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "demo", "--port", "0", *arguments],
                cwd=CHECKOUT,
                env=environment | {"BYRELIGHT_DATA": str(data)},
                stdout=out,
                stderr=subprocess.STDOUT,
            )

    @property
    def said(self) -> str:
        return self.output.read_text()

    def url(self) -> str:
        """Return the address it prints, once it does."""

        def printed() -> "re.Match[str] | None":
            assert self.process.poll() is None, self.said
            return re.search(r"^Open (http\S+)", self.said, re.MULTILINE)

        found = eventually(printed, PATIENCE_S)
        assert found is not None
        return found[1]

    def get(self, path: str = "") -> int:
        """Return the status of a page."""
        with urllib.request.urlopen(self.url() + path) as answer:
            return int(answer.status)

    def family(self) -> list[Process]:
        """Return all its processes, once each program and the planner's pool process are there."""

        def complete() -> list[Process]:
            known = descendants(self.process.pid)
            words = [command(process.pid) for process in known]
            celery = sum(" celery " in word for word in words)
            servers = sum("postgres" in word for word in words) > 0 and any(
                "valkey" in word for word in words
            )
            return known if celery >= 4 and servers else []

        return eventually(complete, PATIENCE_S)

    def end(self, how: signal.Signals) -> int:
        """Send it the signal; return its exit status once every one of its processes is gone."""
        known = self.family()
        self.process.send_signal(how)
        status = self.process.wait()
        eventually(lambda: not alive(known))
        return status

    def clear_away(self) -> None:
        """End whatever a failed test left."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()

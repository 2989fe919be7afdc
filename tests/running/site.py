"""The site's own programs, started as in the demo, on the database of the test run."""

import os
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from django.db import connection

from dispatch.serve import programs
from dispatch.serve.child import Child
from dispatch.serve.port import address, answers, listen
from dispatch.serve.supervisor import Supervisor


def environment_of_test_database() -> dict[str, str]:
    """Return the environment of a process that shall see what the test sees.

    The test must be transactional: rows of an open transaction are seen by nobody else.
    """
    url = urlsplit(os.environ["DATABASE_URL"])
    name = str(connection.settings_dict["NAME"])
    environment = {**os.environ, "DATABASE_URL": urlunsplit(url._replace(path=f"/{name}"))}
    environment.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)
    environment["SECRET_KEY"] = "for tests only, never on a machine that others can reach"
    return environment


class Site:
    """The web process, reached over HTTP at ``url`` (with a slash at the end)."""

    def __init__(self, folder: Path) -> None:
        self.log = folder / "web.log"
        self.supervisor = Supervisor(print)
        self.listener = listen("127.0.0.1", 0)
        self.url = address(self.listener)

    def __enter__(self) -> "Site":
        child = programs.web(environment_of_test_database(), self.listener)
        child.log = self.log
        with ExitStack() as unless_ready:
            unless_ready.callback(self.__exit__)
            self.supervisor.start(child, lambda: answers(self.listener))
            unless_ready.pop_all()
        return self

    def __exit__(self, *_: object) -> None:
        self.supervisor.stop()
        self.listener.close()


class Workers:
    """Celery worker processes that a test starts, and may kill."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.children: list[Child] = []

    def start(self, queues: str = "plan,build,messages,clock", pool: str = "threads") -> Child:
        """Start a worker; what was queued before it is up waits for it."""
        number = len(self.children) + 1
        options = ["-Q", queues, "-P", pool, "-c", "2", "-n", f"test{number}-{os.getpid()}@tests"]
        environment = environment_of_test_database()
        child = programs.celery(f"worker {number}", environment, "worker", *options, *programs.QUIET)
        child.log = self.folder / f"worker{number}.log"
        child.start()
        self.children.append(child)
        return child

    def stop(self) -> None:
        for child in self.children:
            child.ask_to_stop()
        for child in self.children:
            child.stop()


StartWorker = Callable[..., Child]

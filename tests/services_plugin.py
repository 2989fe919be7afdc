"""Starts PostgreSQL and the Redis-protocol server that the whole run tests against.

Loaded with ``-p tests.services_plugin`` (pyproject.toml does), because pytest-django reads the
settings before any conftest runs. Servers named by DATABASE_URL and REDIS_URL are used instead of
our own; DATABASE_URL's user must be allowed to create databases. Under xdist only the controller
starts servers: workers find them in the environment. The kernel ends ours with the run.
"""

import os
import shutil
import tempfile
from collections.abc import Generator
from pathlib import Path

import pytest

from dispatch.serve.account import give, service_account
from dispatch.serve.folder import socket_folder
from dispatch.serve.postgres import DATABASE, Cluster
from dispatch.serve.supervisor import Supervisor
from dispatch.serve.valkey import Broker
from tests.running.template import migrated

WORKER = os.environ.get("PYTEST_XDIST_WORKER", "")
SETTINGS = {
    "BYRELIGHT_MODE": "test",
    "DJANGO_SETTINGS_MODULE": "dispatch.settings",
    # Playwright's loop runs in the main thread from the first browser test on, and Django would
    # then take every query for one made inside async code. The site itself runs elsewhere.
    "DJANGO_ALLOW_ASYNC_UNSAFE": "true",
}
# Mail and log settings of the person's own shell must not reach the tests.
DROPPED = ("SECRET_KEY", "ALLOWED_HOSTS", "CSRF_TRUSTED_ORIGINS", "EMAIL_URL", "EMAIL_FROM", "DEBUG", "HTTPS")


class Services:
    """The servers of one run and the folder they live in, gone at the end."""

    def __init__(self) -> None:
        self.supervisor = Supervisor(print)
        self.account = service_account()
        self.sockets = socket_folder(self.account)
        self.folder = Path(tempfile.mkdtemp(prefix="files-", dir=self.sockets))
        give(self.folder, self.account)

    def start(self) -> None:
        """Start what the environment does not name, and name it there."""
        if "DATABASE_URL" not in os.environ:
            cluster = Cluster(self.folder, self.sockets, self.account)
            log = self.sockets / "postgres.log"
            migrated(cluster, log)
            self.supervisor.start(cluster.server(log, throw_away=True), cluster.ready)
            os.environ.update(DATABASE_URL=cluster.url, TEST_TEMPLATE=DATABASE)
        if "REDIS_URL" not in os.environ:
            broker = Broker(self.folder, self.sockets, self.account)
            self.supervisor.start(broker.server(self.sockets / "valkey.log"), broker.ready)
            os.environ["REDIS_URL"] = broker.url

    def stop(self) -> None:
        self.supervisor.stop()
        shutil.rmtree(self.sockets, ignore_errors=True)


def settle_environment() -> None:
    """Give this process its settings; each xdist worker gets keys and channels of its own."""
    for name in DROPPED:
        os.environ.pop(name, None)
    os.environ.update(SETTINGS, REDIS_PREFIX=f"byrelight-test-{WORKER or 'main'}")


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_load_initial_conftests(early_config: pytest.Config) -> Generator[None, object, object]:
    settle_environment()
    if not WORKER:
        services = Services()
        early_config.add_cleanup(services.stop)
        services.start()
    return (yield)

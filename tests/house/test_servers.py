"""The embedded servers start whatever a killed run has left."""

import os
import shutil
from collections.abc import Iterator

import pytest

from dispatch.serve.account import can_run, give, service_account
from dispatch.serve.errors import ServeError
from dispatch.serve.folder import socket_folder
from dispatch.serve.postgres import Cluster, copy_install, wheel_install
from dispatch.serve.supervisor import Supervisor

ACCOUNT = service_account()


@pytest.fixture
def cluster() -> Iterator[Cluster]:
    """A place for a database server in a short folder, as the demo makes it."""
    sockets = socket_folder(ACCOUNT)
    folder = sockets / "files"
    folder.mkdir()
    give(folder, ACCOUNT)
    yield Cluster(folder, sockets, ACCOUNT)
    shutil.rmtree(sockets)


def test_server_starts_over_what_killed_runs_left(cluster: Cluster) -> None:
    half_made = cluster.folder / "half-made-1"
    (half_made / "data" / "base").mkdir(parents=True)
    cluster.prepare(throw_away=True)
    assert not half_made.exists()

    log = cluster.sockets / "log"
    with Supervisor(print) as supervisor:
        supervisor.start(first := cluster.server(log, throw_away=True), cluster.ready)
        # a supervisor that was killed while its server still shuts down: the next one ends it
        cluster.prepare(throw_away=True)
        assert first.ended is not None

    # and the number in the pid file may since have gone to anybody
    (cluster.data / "postmaster.pid").write_text(f"{os.getpid()}\n{cluster.data}\n")
    give(cluster.data / "postmaster.pid", ACCOUNT)
    cluster.prepare(throw_away=True)
    with Supervisor(print) as supervisor:
        supervisor.start(cluster.server(log, throw_away=True), cluster.ready)


def test_copied_programs_find_their_libraries(cluster: Cluster) -> None:
    """The copy serves root, when the wheel lies in a private home that ``nobody`` cannot enter."""
    copied = cluster.folder / "program"
    original = wheel_install()
    copy_install(original, copied, cluster.folder)
    assert can_run(copied / original.parent.name / original.name / "bin" / "initdb", ACCOUNT)


def test_files_of_another_version_are_left_alone_and_named(cluster: Cluster) -> None:
    cluster.data.mkdir()
    (cluster.data / "PG_VERSION").write_text("15\n")
    with pytest.raises(ServeError, match="made by PostgreSQL 15"):
        cluster.prepare()

"""Children come back when they end, go when we go, and are given up when they keep ending."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from dispatch.serve.child import Child
from dispatch.serve.errors import ServeError
from dispatch.serve.supervisor import TOO_OFTEN, Keeper, Stopped, Supervisor
from tests.running.processes import alive, descendants
from tests.running.site import StartWorker
from tests.running.waiting import eventually

STUBBORN = "trap '' TERM; echo ready; while :; do sleep 60; done"


@pytest.fixture
def news() -> list[str]:
    return []


@pytest.fixture
def supervisor(news: list[str]) -> Iterator[Supervisor]:
    with Supervisor(news.append) as made:
        yield made


def shell(script: str, log: Path | None = None, **options: float) -> Child:
    return Child("shell", ["/bin/sh", "-c", script], log=log, **options)  # type: ignore[arg-type]  # only grace_s


def test_child_that_ends_is_started_again_after_its_pause(news: list[str], tmp_path: Path) -> None:
    child = shell("echo last words; exit 3", tmp_path / "log")
    keeper = Keeper(child)
    child.start()
    eventually(lambda: child.ended == 3)
    keeper.look(100.0, news.append)
    assert "exit status 3" in news[0]
    assert "last words" in news[0]
    first = child.process
    keeper.look(100.4, news.append)
    assert child.process is first
    keeper.look(100.5, news.append)
    assert child.process is not first
    child.stop()


def test_child_that_keeps_ending_stops_everything_with_its_last_words(tmp_path: Path) -> None:
    child = shell("echo no memory; exit 1", tmp_path / "log")
    keeper = Keeper(child)
    for number in range(TOO_OFTEN - 1):
        child.start()
        eventually(lambda: child.ended is not None)
        keeper.look(float(number), print)
        keeper.due = None
    child.start()
    eventually(lambda: child.ended is not None)
    with pytest.raises(ServeError, match="no memory"):
        keeper.look(float(TOO_OFTEN), print)


def test_ends_far_apart_are_forgiven() -> None:
    child = shell("exit 1")
    keeper = Keeper(child)
    for number in range(2 * TOO_OFTEN):
        child.start()
        eventually(lambda: child.ended is not None)
        keeper.look(number * 61.0, lambda line: None)
        keeper.due = None
    assert len(keeper.ends) == 1


def test_child_that_ignores_the_request_to_stop_is_killed(supervisor: Supervisor, tmp_path: Path) -> None:
    log = tmp_path / "log"
    child = shell(STUBBORN, log, grace_s=0.2)
    supervisor.start(child, lambda: "ready" in log.read_text())
    assert child.process is not None
    known = descendants(child.process.pid)
    supervisor.stop()
    assert child.ended == -signal.SIGKILL
    eventually(lambda: not alive(known))


def test_child_that_never_gets_ready_is_told_with_its_log(supervisor: Supervisor, tmp_path: Path) -> None:
    with pytest.raises(ServeError, match="cannot bind"):
        supervisor.start(shell("echo cannot bind; exit 1", tmp_path / "log"), lambda: False)


def test_signal_ends_the_wait_in_good_order(supervisor: Supervisor) -> None:
    child = shell("sleep 600")
    with supervisor.signals():
        supervisor.start(child)
        os.kill(os.getpid(), signal.SIGTERM)
        with pytest.raises(Stopped):
            supervisor.keep()
    supervisor.stop()
    assert child.ended is not None


def test_children_end_with_a_killed_parent(tmp_path: Path) -> None:
    script = (
        "import time; from dispatch.serve.child import Child;"
        "Child('sleeper', ['sleep', '600']).start(); print('up', flush=True); time.sleep(600)"
    )
    parent = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    with parent.stdout:
        assert parent.stdout.readline() == "up\n"
        known = descendants(parent.pid)
        assert len(known) == 1
        parent.kill()
        parent.wait()
    eventually(lambda: not alive(known))


@pytest.mark.django_db(transaction=True)
def test_pool_process_ends_with_its_killed_worker(worker_process: StartWorker) -> None:
    worker = worker_process("plan", pool="prefork")
    assert worker.process is not None
    pid = worker.process.pid
    pool = eventually(lambda: descendants(pid))
    worker.process.kill()
    worker.process.wait()
    eventually(lambda: not alive(pool))

"""The demo starts from nothing, survives being killed, and leaves no process behind."""

import shutil
import signal
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest

from dispatch.serve.account import service_account
from dispatch.serve.environment import join_running_demo
from dispatch.serve.folder import DataFolder, folder_path
from tests.running import template
from tests.running.demo import RunningDemo

Start = Callable[..., RunningDemo]


@pytest.fixture
def data() -> Iterator[Path]:
    """A data folder that every account can reach, migrated already where the run has that at hand."""
    path = Path(tempfile.mkdtemp(prefix="byrelight-demo-", dir="/var/tmp"))
    account = service_account()
    folder = DataFolder(folder_path({"BYRELIGHT_DATA": str(path)}, account), account)
    ready_made = template.kept() / "data"
    if ready_made.exists():
        template.copy(ready_made, folder.servers / "data")
    yield path
    shutil.rmtree(path)


@pytest.fixture
def start(data: Path, tmp_path: Path) -> Iterator[Start]:
    started: list[RunningDemo] = []

    def start_one(*arguments: str) -> RunningDemo:
        started.append(RunningDemo(data, tmp_path / f"said-{len(started)}", *arguments))
        return started[-1]

    yield start_one
    for demo in started:
        demo.clear_away()


def published(data: Path) -> dict[str, str]:
    """Return what the demo that runs on this folder tells other commands."""
    environment = {"BYRELIGHT_DATA": str(data)}
    join_running_demo(environment)
    return environment


def practices(data: Path) -> int:
    """Count the practices in the database of the demo that runs on this folder."""
    environment = published(data)
    with psycopg.connect(environment["DATABASE_URL"].replace("postgres://", "postgresql://")) as connection:
        row = connection.execute("SELECT count(*) FROM rotas_practice").fetchone()
    assert row is not None
    return int(row[0])


def test_demo_survives_sigkill_and_keeps_its_data(start: Start, data: Path) -> None:
    demo = start()
    assert demo.get() == 200
    assert published(data)["SITE_ADDRESS"] == demo.url().rstrip("/")  # links in its messages lead here
    loaded = practices(data)
    assert loaded >= 1
    assert demo.end(signal.SIGKILL) == -signal.SIGKILL

    again = start()
    assert again.get() == 200
    assert practices(data) == loaded

    second = start()
    assert second.process.wait() == 1
    assert "already runs" in second.said
    assert again.url() in second.said

    assert again.end(signal.SIGTERM) == 0
    assert not (data / "environment").exists()

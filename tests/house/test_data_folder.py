"""The demo's folder: one supervisor at a time, its own secret key, and words when it cannot be used."""

import os
from pathlib import Path

import pytest

from dispatch.serve.account import service_account
from dispatch.serve.environment import join_running_demo, publish
from dispatch.serve.errors import ServeError
from dispatch.serve.folder import DataFolder, folder_path
from dispatch.serve.port import address, listen

VALUES = {
    "BYRELIGHT_MODE": "demo",
    "SECRET_KEY": "secret",
    "DATABASE_URL": "postgres://byrelight@%2Ftmp%2Fsockets/byrelight",
    "REDIS_URL": "unix:///tmp/sockets/valkey?db=0",
    "ALLOWED_HOSTS": "localhost",
    "SITE_ADDRESS": "http://127.0.0.1:8001",
}


def folder(path: Path) -> DataFolder:
    return DataFolder(path, service_account())


def test_second_supervisor_is_told_who_holds_the_folder(tmp_path: Path) -> None:
    first = folder(tmp_path)
    first.hold()
    first.describe("process 12, http://127.0.0.1:8000/")
    with pytest.raises(ServeError, match=r"already runs on .*process 12, http://127\.0\.0\.1:8000/"):
        folder(tmp_path).hold()


def test_secret_key_is_private_and_stays(tmp_path: Path) -> None:
    key = folder(tmp_path).secret_key()
    assert len(key) >= 50
    assert folder(tmp_path).secret_key() == key
    assert (tmp_path / "secret-key").stat().st_mode & 0o077 == 0


def test_half_written_key_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "secret-key").write_text("abc")
    assert len(folder(tmp_path).secret_key()) >= 50


def test_sockets_of_a_killed_run_are_removed(tmp_path: Path) -> None:
    left = folder(tmp_path).sockets()
    made = folder(tmp_path).sockets()
    assert made.exists()
    assert not left.exists()
    made.rmdir()


def test_folder_that_cannot_be_made_is_refused_with_the_way_out(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ServeError, match="Set BYRELIGHT_DATA to a folder that you can write to"):
        folder_path({"BYRELIGHT_DATA": str(tmp_path / "file" / "data")}, service_account())


@pytest.mark.skipif(os.geteuid() != 0, reason="only root hands the servers to another account")
def test_folder_that_nobody_cannot_reach_is_refused(tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    with pytest.raises(ServeError, match="outside private homes"):
        folder_path({"BYRELIGHT_DATA": str(closed / "data")}, service_account())


def test_other_commands_find_the_running_demo(tmp_path: Path) -> None:
    held = folder(tmp_path)
    held.hold()
    publish(tmp_path / "environment", VALUES)
    environment = {"BYRELIGHT_DATA": str(tmp_path), "SECRET_KEY": "of the shell"}
    join_running_demo(environment)
    assert environment == VALUES | {"BYRELIGHT_DATA": str(tmp_path), "SECRET_KEY": "of the shell"}


def test_named_database_wins_over_the_running_demo(tmp_path: Path) -> None:
    held = folder(tmp_path)
    held.hold()
    publish(tmp_path / "environment", VALUES)
    environment = {"BYRELIGHT_DATA": str(tmp_path), "DATABASE_URL": "postgres://elsewhere/desk"}
    join_running_demo(environment)
    assert environment["DATABASE_URL"] == "postgres://elsewhere/desk"
    assert "REDIS_URL" not in environment


def test_killed_demo_is_not_joined(tmp_path: Path) -> None:
    folder(tmp_path)
    (tmp_path / "lock").write_text("process 12")
    publish(tmp_path / "environment", VALUES)
    environment = {"BYRELIGHT_DATA": str(tmp_path)}
    join_running_demo(environment)
    assert "DATABASE_URL" not in environment


def test_taken_port_gives_way_to_the_next_free_one() -> None:
    with listen("127.0.0.1", 0) as first:
        wanted = first.getsockname()[1]
        with listen("127.0.0.1", wanted) as second:
            assert second.getsockname()[1] != wanted
            assert address(second) == f"http://127.0.0.1:{second.getsockname()[1]}/"

"""What a running demo tells other commands in the same checkout, so that they find its servers."""

import fcntl
import os
from collections.abc import MutableMapping
from pathlib import Path

from dispatch.serve.folder import places, write_private

NAMES = ("BYRELIGHT_MODE", "SECRET_KEY", "DATABASE_URL", "REDIS_URL", "ALLOWED_HOSTS", "SITE_ADDRESS")


def publish(path: Path, values: dict[str, str]) -> None:
    """Write the variables other commands need; only we can read the file."""
    write_private(path, "".join(f"{name}={values[name]}\n" for name in NAMES))


def join_running_demo(environment: MutableMapping[str, str]) -> None:
    """Point ``environment`` at the demo that runs in this checkout.

    Nothing happens when a database is already named, or when no demo runs.
    """
    if "DATABASE_URL" in environment:
        return
    for folder in places(environment):
        published = folder / "environment"
        if held(folder / "lock") and os.access(published, os.R_OK):
            for line in published.read_text().splitlines():
                name, _, value = line.partition("=")
                environment.setdefault(name, value)


def held(lock: Path) -> bool:
    """Tell whether a supervisor holds the lock."""
    try:
        handle = os.open(lock, os.O_RDONLY)
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    finally:
        os.close(handle)
    return False

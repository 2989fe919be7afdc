"""The folder that the client keeps: token, journal and what it last saw. Nobody else may read it."""

import fcntl
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

PRIVATE_FILE, PRIVATE_FOLDER = 0o600, 0o700


class Folder:
    """JSON files with mode 600, each written whole or not at all."""

    def __init__(self, path: Path) -> None:
        self.path = path
        path.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)

    def read(self, name: str) -> Any:
        """Return what the file holds, or None."""
        try:
            return json.loads((self.path / name).read_text(encoding="utf-8"))
        except (FileNotFoundError, json.JSONDecodeError):
            return None

    def write(self, name: str, value: Any) -> None:
        """Replace the file; after a power cut there is the old one or the new one, never half."""
        new = self.path / f".{name}.new"
        new.unlink(missing_ok=True)
        descriptor = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            json.dump(value, file, ensure_ascii=False, indent=1)
            file.flush()
            os.fsync(file.fileno())
        os.replace(new, self.path / name)

    def drop(self, name: str) -> None:
        """Remove the file if it is there."""
        (self.path / name).unlink(missing_ok=True)

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Let one command work in the folder at a time; a second one waits."""
        descriptor = os.open(self.path / ".lock", os.O_RDWR | os.O_CREAT, PRIVATE_FILE)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX)
            yield
        finally:
            os.close(descriptor)


def default_path() -> Path:
    """Return the folder named by BYRELIGHT_HOME, or .byrelight in the person's own."""
    return Path(os.environ.get("BYRELIGHT_HOME") or Path.home() / ".byrelight")

"""Which of several processes holds the other end of a connection (Linux: /proc)."""

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

TABLE = Path("/proc/net/tcp")


def holder(port: int, sessions: Iterable[int], table: Path = TABLE) -> int | None:
    """Return which session (named by its leader's pid) has a process with that local TCP port open.

    None when nobody has it any more.
    """
    inode = _inode(port, table)
    if inode is None:
        return None
    wanted = set(sessions)
    for folder in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            session = os.getsid(int(folder.name))
            if session in wanted and _holds(folder / "fd", inode):
                return session
    return None


def _inode(port: int, table: Path) -> str | None:
    for line in table.read_text().splitlines()[1:]:
        fields = line.split()
        if int(fields[1].rpartition(":")[2], 16) == port and fields[9] != "0":
            return fields[9]
    return None


def _holds(descriptors: Path, inode: str) -> bool:
    for link in descriptors.iterdir():
        with suppress(OSError):
            if os.readlink(link) == f"socket:[{inode}]":
                return True
    return False

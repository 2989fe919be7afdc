"""Which processes a process has started, and whether they are gone (Linux: /proc)."""

from pathlib import Path
from typing import NamedTuple


class Process(NamedTuple):
    """A process; the start time (clock ticks since boot) tells it from a later one with its number."""

    pid: int
    parent: int
    state: str
    started: int


def processes() -> list[Process]:
    """Return every process of the machine that can be seen."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            text = path.read_text()
        except OSError:  # it ended while we looked
            continue
        fields = text.rpartition(")")[2].split()
        found.append(Process(int(path.parent.name), int(fields[1]), fields[0], int(fields[19])))
    return found


def descendants(pid: int) -> list[Process]:
    """Return everything the process has started, however deep."""
    by_parent: dict[int, list[Process]] = {}
    for process in processes():
        by_parent.setdefault(process.parent, []).append(process)
    found, open_ends = [], [pid]
    while open_ends:
        children = by_parent.get(open_ends.pop(), [])
        found += children
        open_ends += [child.pid for child in children]
    return found


def alive(known: list[Process]) -> list[int]:
    """Return those that still run; a zombie has ended, and waits only to be counted."""
    now = {(process.pid, process.started) for process in processes() if process.state != "Z"}
    return [process.pid for process in known if (process.pid, process.started) in now]


def command(pid: int) -> str:
    """Return the words of its command line, or nothing when it is gone."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
    except OSError:
        return ""

"""What was done here and has to reach the practice, in order."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any
from uuid import uuid4

from dispatch.client.folder import Folder

FILE = "journal.json"
REMEMBERED = 100  # settled entries kept to look back on


class Outcome(StrEnum):
    """What became of an entry."""

    WAITING = "sending"
    DONE = "done"
    REFUSED = "refused"
    POINTLESS = "pointless"


@dataclass
class Entry:
    """One write. `after` is the key of the acceptance whose visit it is about, where that is not known yet.

    `path` may hold ``{visit}``; `said` is how a person calls it; `told` is the answer or the refusal.
    """

    said: str
    path: str
    body: dict[str, Any]
    key: str = field(default_factory=lambda: uuid4().hex)
    after: str = ""
    outcome: Outcome = Outcome.WAITING
    told: Any = None

    @property
    def is_owed(self) -> bool:
        """Say whether it is a treatment that was refused: in no record, so nothing holds milk or meat."""
        return self.outcome is Outcome.REFUSED and self.path.endswith("/treatments")


class Journal:
    """The entries, oldest first, kept in a file after every change."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        kept = folder.read(FILE) or []
        self.entries = [Entry(**{**row, "outcome": Outcome(row["outcome"])}) for row in kept]

    def add(self, entry: Entry) -> Entry:
        """Keep a new entry; from here on it is not lost."""
        self.entries.append(entry)
        self._save()
        return entry

    def settle(self, entry: Entry, outcome: Outcome, told: Any) -> None:
        """Write what became of it."""
        entry.outcome, entry.told = outcome, told
        self._save()

    def waiting(self) -> Iterator[Entry]:
        """Yield what has not reached the practice, oldest first."""
        return (entry for entry in list(self.entries) if entry.outcome is Outcome.WAITING)

    def owed(self) -> list[Entry]:
        """Return the refused treatments that nobody has sent again or let go, oldest first."""
        return [entry for entry in self.entries if entry.is_owed]

    def again(self, entry: Entry, body: dict[str, Any]) -> Entry:
        """Let a refused entry wait again, under its own key: sent anew, it is the same one."""
        entry.body, entry.outcome, entry.told = body, Outcome.WAITING, None
        self._save()
        return entry

    def by_key(self, key: str) -> Entry | None:
        """Return the entry with the key."""
        return next((entry for entry in self.entries if entry.key == key), None)

    def _save(self) -> None:
        settled = [entry for entry in self.entries if entry.outcome is not Outcome.WAITING]
        needed = {entry.after for entry in self.waiting()}
        old = [entry for entry in settled[:-REMEMBERED] if entry.key not in needed and not entry.is_owed]
        self.entries = [entry for entry in self.entries if entry not in old]
        self._folder.write(FILE, [asdict(entry) for entry in self.entries])

"""One command's work: the journal is sent first, so that everything lands in the order it happened."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

import httpx

from dispatch.client import account
from dispatch.client.errors import NoNetwork, SignInNeeded
from dispatch.client.folder import Folder
from dispatch.client.journal import Entry, Journal, Outcome
from dispatch.client.sending import send_all
from dispatch.client.visits import Seen, Visits
from dispatch.client.wire import Wire
from dispatch.client.words import entry_line

KEPT_HERE = "It is kept here and sent with the next command that finds a network."


class Work:
    """What a command needs. `show` prints a line; `now` is this machine's clock."""

    def __init__(
        self,
        folder: Folder,
        now: datetime,
        show: Callable[[str], None],
        transport: httpx.BaseTransport | None = None,
    ) -> None:
        self.folder, self.now, self.show = folder, now, show
        self.account = account.read(folder)
        self.wire = Wire(self.account.address, self.account.token, transport)
        self.journal, self.visits = Journal(folder), Visits(folder)
        self.online = False
        self.refused = False

    @property
    def zone(self) -> str:
        """The practice's zone, in which every time is shown."""
        return self.account.zone

    def send(self, new: Entry | None = None) -> None:
        """Send what waits, and tell what became of it; what cannot be sent now stays."""
        try:
            for entry in send_all(self.journal, self.wire):
                self._note(entry, is_new=new is not None and entry.key == new.key)
            self.online = True
        except NoNetwork as error:
            self.online = False
            self._say_kept(new, str(error))
        except SignInNeeded as error:
            self._say_kept(new, str(error))
            raise

    def _say_kept(self, new: Entry | None, why: str) -> None:
        if new is not None and new.outcome is Outcome.WAITING:
            self.show(entry_line(new, f"{why} {KEPT_HERE}"))

    def _note(self, entry: Entry, *, is_new: bool) -> None:
        """Remember what a settled entry changed, and tell what the command itself will not."""
        self.refused = self.refused or entry.outcome in (Outcome.REFUSED, Outcome.POINTLESS)
        if entry.path.endswith("/accept"):
            self.visits.settled(entry.key, entry.told if entry.outcome is Outcome.DONE else None)
        if not is_new or entry.outcome is not Outcome.DONE:
            self.show(entry_line(entry, ""))

    def refresh(self) -> None:
        """Ask the practice for my visits; without a network the last seen ones stand."""
        if not self.online:
            return
        try:
            answer = self.wire.get("visits", state="all")
        except NoNetwork:
            self.online = False
        else:
            self.visits.refresh(answer["results"])

    def meant(self, kind: str, visit_id: int | None) -> Seen:
        """Return the visit that is meant, as the practice knows it or as last seen."""
        self.refresh()
        return self.visits.meant(kind, visit_id)

    def write(self, said: str, path: str, body: dict[str, Any], seen: Seen | None = None) -> Entry:
        """Keep a write, send it if there is a network, and return what became of it."""
        entry = self.keep(said, path, body, seen)
        self.send(entry)
        return entry

    def keep(self, said: str, path: str, body: dict[str, Any], seen: Seen | None = None) -> Entry:
        """Keep a write in the journal.

        `path` with ``{visit}`` is about `seen`, or about the visit that its acceptance will make.
        """
        after = seen.acceptance if seen is not None and not seen.id else ""
        if seen is not None and seen.id:
            path = path.format(visit=seen.id)
        return self.journal.add(Entry(said, path, body, after=after))

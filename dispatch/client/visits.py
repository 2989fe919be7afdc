"""Which visit is meant, also without signal: what was last seen, moved on by what was done here."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from dispatch.client.errors import WrongUse
from dispatch.client.folder import Folder

FILE = "visits.json"
# For each report: the stages in which it is expected, most likely first.
EXPECTED = {
    "set_out": (("accepted",), ("set_out",)),
    "on_farm": (("set_out",), ("accepted",), ("on_farm",)),
    "estimate": (("on_farm",), ("set_out", "accepted")),
    "treat": (("on_farm",), ("finished",), ("set_out", "accepted")),
    "finished": (("on_farm",), ("set_out", "accepted"), ("finished",)),
    "home": (("finished",), ("on_farm",), ("set_out",), ("home",)),
}
REACHED = {"set_out": "set_out", "on_farm": "on_farm", "finished": "finished", "home": "home"}


@dataclass
class Seen:
    """A visit as last seen. `id` is 0 and `acceptance` the key of the entry while that is being sent."""

    id: int
    stage: str
    name: str
    acceptance: str = ""


class Visits:
    """My visits as last seen from here."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self.seen = [Seen(**row) for row in folder.read(FILE) or []]

    def refresh(self, rows: Iterable[dict[str, Any]]) -> None:
        """Take over what the practice says; acceptances on their way stay."""
        sending = [seen for seen in self.seen if not seen.id]
        self.seen = [_seen(row) for row in rows if row["state"] != "stood_down"] + sending
        self._save()

    def sending(self, offer: int, key: str) -> None:
        """Remember an acceptance that the practice has not confirmed."""
        self.seen.append(Seen(0, "accepted", f"offer {offer} (sending, not yours yet)", key))
        self._save()

    def settled(self, key: str, visit: dict[str, Any] | None) -> None:
        """Put the confirmed visit in the place of its acceptance, or drop what did not hold."""
        before = next((seen for seen in self.seen if seen.acceptance == key), None)
        self.seen = [seen for seen in self.seen if seen.acceptance != key]
        if visit is not None:
            self.seen = [seen for seen in self.seen if seen.id != visit["id"]]
            confirmed = _seen(visit)
            confirmed.stage = before.stage if before else confirmed.stage
            self.seen.insert(0, confirmed)
        self._save()

    def move(self, seen: Seen, kind: str) -> None:
        """Note what was just reported, so that the next report finds its visit without signal."""
        seen.stage = REACHED.get(kind, seen.stage)
        self._save()

    def meant(self, kind: str, visit_id: int | None) -> Seen:
        """Return the visit that the report is about, or ask."""
        if visit_id is not None:
            unseen = Seen(visit_id, "", f"visit {visit_id}")
            return next((seen for seen in self.seen if seen.id == visit_id), unseen)
        for stages in EXPECTED[kind]:
            fitting = [seen for seen in self.seen if seen.stage in stages]
            if len(fitting) == 1:
                return fitting[0]
            if fitting:
                names = "; ".join(f"--visit {seen.id}: {seen.name}" for seen in fitting)
                raise WrongUse(f"Say which visit. {names}")
        raise WrongUse("No visit of yours fits. Look with: mine. Or say which: --visit 12.")

    def _save(self) -> None:
        self._folder.write(FILE, [vars(seen) for seen in self.seen])


def _seen(row: dict[str, Any]) -> Seen:
    name = f"call {row['call']['number']}" if row["call"] else "booked work"
    place = f" at {row['location']['name']}" if row["location"] else ""
    return Seen(row["id"], "home" if row["home_at"] else row["state"], name + place)

"""Keys as the standard writes them: an id under a scheme in reverse-domain form."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from cases.records.line import Subject

Json = dict[str, Any]
OURS = "byrelight"


@dataclass(frozen=True)
class Source:
    """Which practice and farm the data come from.

    `practice` is the practice's slug. `holding` is the farm's own official number, if it is known:
    then locations go by it, else by our key.
    """

    practice: str
    location_key: int
    location_name: str
    holding: str = ""
    time_zone: str = ""

    def scheme(self, what: str) -> str:
        """Return the scheme of this practice's own keys of something, such as `treatment`."""
        return f"{OURS}.{self.practice}.{what}"

    def location(self) -> Json:
        """Return the farm's identifier."""
        if self.holding:
            return {"id": self.holding, "scheme": self.scheme("holding")}
        return {"id": str(self.location_key), "scheme": self.scheme("location")}

    def animal(self, tag: str) -> Json:
        """Return an animal's identifier: its tag as it was read."""
        return {"id": tag, "scheme": self.scheme("tag")}

    def pen(self, subject: Subject) -> Json:
        """Return a pen's identifier."""
        return {"id": str(subject.key), "scheme": self.scheme("group")}


def utc(moment: datetime) -> str:
    """Return an instant as the standard wants it: UTC with a Z, whole seconds."""
    return moment.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")

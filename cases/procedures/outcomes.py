"""When an operation's outcome is asked for, and what a practice's own outcomes come to."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta, tzinfo
from enum import StrEnum

from cases.procedures.tables import Procedure

ASKED_AT = time(9)  # on the day [cp]


class Outcome(StrEnum):
    """How it went, on one of the days."""

    WELL = "well"
    ALIVE = "alive"
    DEAD = "dead"
    GONE = "gone"
    UNKNOWN = "unknown"


WORDS = {
    Outcome.WELL: "alive and well",
    Outcome.ALIVE: "alive, not yet well",
    Outcome.DEAD: "dead or put down",
    Outcome.GONE: "sold or culled",
    Outcome.UNKNOWN: "could not be found out",
}


def asked_on(procedure: Procedure, ended_at: datetime, tz: tzinfo) -> dict[int, datetime]:
    """Return when each outcome is asked for: in the morning so many calendar days after the end."""
    day = ended_at.astimezone(tz).date()
    return {
        count: datetime.combine(day + timedelta(days=count), ASKED_AT, tzinfo=tz)
        for count in procedure.outcome_days
    }


@dataclass(frozen=True)
class Figures:
    """One method's outcomes on one day: of `asked` operations, so many were found out, alive, well."""

    method: str
    day: int
    asked: int
    known: int
    alive: int
    well: int

    @property
    def sentence(self) -> str:
        """The figures in words, with what they are out of; few say little."""
        few = "; too few to say much" if self.known < FEW else ""
        return f"{self.well} of {self.known} well, {self.alive} of {self.known} alive{few}"


FEW = 20  # below it a share misleads more than it tells [cp]


def figures(outcomes: Iterable[tuple[str, int, Outcome | None]]) -> tuple[Figures, ...]:
    """Return the figures by method and day, from (method, day, outcome or None while it is owed)."""
    found: dict[tuple[str, int], list[Outcome | None]] = {}
    for method, day, outcome in outcomes:
        found.setdefault((method, day), []).append(outcome)
    return tuple(_figures(method, day, own) for (method, day), own in sorted(found.items()))


def _figures(method: str, day: int, own: list[Outcome | None]) -> Figures:
    known = [each for each in own if each not in (None, Outcome.UNKNOWN, Outcome.GONE)]
    alive = [each for each in known if each in (Outcome.WELL, Outcome.ALIVE)]
    return Figures(method, day, len(own), len(known), len(alive), known.count(Outcome.WELL))

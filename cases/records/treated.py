"""The list for the parlour wall: who must stay out of the tank, off the lorry, out of the egg tray."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from cases.records.line import COMMODITIES, Ending, MedicineLine, Subject

NEVER = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True)
class Held:
    """One commodity that is held: by which line, and until when. No end: until the vet says."""

    ending: Ending
    line: MedicineLine

    @property
    def clear_at(self) -> datetime | None:
        """The first moment at which it may be sold; None while nobody can say."""
        return self.ending.clear_at if self.ending.standing == "running" else None


@dataclass(frozen=True)
class Treated:
    """One animal or pen with what is held of it, by commodity, and every mark it should bear."""

    subject: Subject
    held: dict[str, Held]
    marks: str
    medicines: tuple[str, ...]

    @property
    def last(self) -> datetime:
        """When the last of it is clear; far ahead while one has no end."""
        return max(each.clear_at or NEVER for each in self.held.values())


def treated(lines: Iterable[MedicineLine]) -> tuple[Treated, ...]:
    """Return everybody of whom something is held, milk first, then by the number read on the tag.

    The longest governs; one without an end outranks all that have one. A corrected line holds
    for as long as its own withdrawal stands, which is until the correction is in force.
    """
    by_subject: dict[tuple[bool, int], list[MedicineLine]] = {}
    for line in lines:
        if any(each.holds for each in line.endings):
            by_subject.setdefault((line.subject.is_group, line.subject.key), []).append(line)
    rows = [_treated(found) for found in by_subject.values()]
    return tuple(sorted(rows, key=lambda row: ("milk" not in row.held, row.subject.name, row.subject.tag)))


def _treated(lines: list[MedicineLine]) -> Treated:
    holds = [Held(ending, line) for line in lines for ending in line.endings if ending.holds]
    return Treated(
        lines[0].subject,
        {
            commodity: max(own, key=lambda each: each.clear_at or NEVER)
            for commodity in COMMODITIES
            if (own := [each for each in holds if each.ending.commodity == commodity])
        },
        marks="; ".join(dict.fromkeys(line.marks for line in lines if line.marks)),
        medicines=tuple(dict.fromkeys(line.medicine for line in lines)),
    )

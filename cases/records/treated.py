"""The list for the parlour wall: who must stay out of the tank, off the lorry, out of the egg tray."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from cases.records.line import Subject


@dataclass(frozen=True)
class Held:
    """What is held of one commodity, and why.

    `clear_at` is the first moment at which it may be sold, None while nobody can name one. For milk
    `is_milking` says whether that moment is a milking of the herd, or only where the hours end.
    `forbidden`: the label forbids the use, so that there is no date at all.
    """

    clear_at: datetime | None
    because: tuple[str, ...]
    is_milking: bool = False
    forbidden: bool = False


@dataclass(frozen=True)
class Treated:
    """One animal or pen with what is held of it by commodity, and the marks that it should bear."""

    subject: Subject
    held: Mapping[str, Held]
    marks: str
    medicines: tuple[str, ...]


def in_order(rows: list[Treated]) -> tuple[Treated, ...]:
    """Return them as the wall shows them: milk first, then by the number that is read on the tag."""
    return tuple(sorted(rows, key=lambda row: ("milk" not in row.held, row.subject.name, row.subject.tag)))

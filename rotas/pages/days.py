"""Local days as pages lay them out: months, bank holidays by name, and duties on a common time axis."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from rotas.bank_holidays import bank_holidays
from rotas.models import DraftDuty, Practice, Shift, ShiftRole

ONE_DAY = timedelta(days=1)
SHORT = {ShiftRole.FIRST: "first", ShiftRole.SECOND: "second", ShiftRole.DAY: "day"}


@dataclass(frozen=True)
class Tick:
    """Where a day begins on the axis, in percent, and whether it is named there."""

    day: date
    share: float
    named: bool


@dataclass(frozen=True)
class Bar:
    """A duty on an axis, in percent of its length; `word` says the role, `title` all of it."""

    role: str
    word: str
    share: float
    width: float


@dataclass(frozen=True)
class Axis:
    """A stretch of local days, both included, that everything on a page shares."""

    practice: Practice
    first: date
    last: date

    @property
    def start(self) -> datetime:
        """The first instant."""
        return midnight(self.practice, self.first)

    @property
    def end(self) -> datetime:
        """The first instant after it."""
        return midnight(self.practice, self.last + ONE_DAY)

    def share(self, at: datetime) -> float:
        """Return where the instant lies, in percent, no further than the edges."""
        return round(100 * min(1.0, max(0.0, (at - self.start) / (self.end - self.start))), 3)

    def ticks(self, every: int = 1) -> list[Tick]:
        """Return the days; each `every`th is named."""
        return [
            Tick(day, self.share(midnight(self.practice, day)), number % every == 0)
            for number, day in enumerate(days(self.first, self.last))
        ]

    def bar(self, duty: Shift | DraftDuty) -> Bar:
        """Return the duty as far as it lies on the axis."""
        share = self.share(duty.starts_at)
        return Bar(duty.role, SHORT[duty.role], share, round(self.share(duty.ends_at) - share, 3))

    def bars(self, duties: Iterable[Shift | DraftDuty]) -> list[Bar]:
        """Return the duties that touch the axis."""
        return [self.bar(duty) for duty in duties if duty.starts_at < self.end and self.start < duty.ends_at]


def midnight(practice: Practice, day: date) -> datetime:
    """Return when the local day begins."""
    return datetime.combine(day, time(0), tzinfo=practice.tz)


def days(first: date, last: date) -> Iterator[date]:
    """Yield the days from the first to the last, both included."""
    for number in range((last - first).days + 1):
        yield first + number * ONE_DAY


def month_of(day: date) -> tuple[date, date]:
    """Return the first and the last day of the month."""
    first = day.replace(day=1)
    return first, (first + timedelta(days=31)).replace(day=1) - ONE_DAY


def holidays_of(practice: Practice, first: date, last: date) -> dict[date, str]:
    """Return the bank holidays from the first to the last day by name."""
    found: dict[date, str] = {}
    for year in range(first.year, last.year + 1):
        found |= bank_holidays(practice.country, practice.country_part, year)
    return {day: name for day, name in found.items() if first <= day <= last}

"""A practice's quiet hours, in which nobody is disturbed. Pure. Instants come back in UTC."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

DAY = timedelta(days=1)


@dataclass(frozen=True)
class Quiet:
    """Quiet from `start` until `end` on the local clock, half-open; the same twice: never quiet."""

    tz: tzinfo
    start: time
    end: time

    def holds(self, instant: datetime) -> bool:
        """Say whether the instant lies in the quiet hours."""
        clock = instant.astimezone(self.tz).time()
        if self.start <= self.end:
            return self.start <= clock < self.end
        return clock >= self.start or clock < self.end

    def after(self, instant: datetime) -> datetime:
        """Return the instant, or the end of the quiet hours that it falls in."""
        if not self.holds(instant):
            return instant
        day = instant.astimezone(self.tz).date()
        today = self._on(day, self.end)
        return today if today > instant else self._on(day + DAY, self.end)

    def before(self, instant: datetime, *, lead: timedelta = timedelta(0)) -> datetime:
        """Return the instant, or `lead` before the start of the quiet hours that it falls in."""
        if not self.holds(instant):
            return instant
        day = instant.astimezone(self.tz).date()
        today = self._on(day, self.start)
        return (today if today <= instant else self._on(day - DAY, self.start)) - lead

    def _on(self, day: date, clock: time) -> datetime:
        """Return the instant of a clock time; of one that is shown twice, the first."""
        return datetime.combine(day, clock, tzinfo=self.tz).astimezone(UTC)

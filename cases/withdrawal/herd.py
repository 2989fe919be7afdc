"""How and when a herd is milked, and which milking comes first."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta, tzinfo
from itertools import islice

from cases.withdrawal.clock import instant, local_moment


@dataclass(frozen=True)
class Milking:
    """Local starts of the herd's milkings; none for a robot herd, where every cow has her own times."""

    times: tuple[time, ...] = ()
    robot: bool = False

    def __post_init__(self) -> None:
        if self.robot and self.times:
            raise ValueError("A robot herd has no fixed milking times. Leave the times empty.")
        if any(at.tzinfo is not None for at in self.times):
            raise ValueError("Milking times are local clock times: give them without a zone.")
        if len(set(self.times)) != len(self.times):
            raise ValueError("A milking time is given twice. Give each start once.")
        object.__setattr__(self, "times", tuple(sorted(self.times)))

    @property
    def known(self) -> bool:
        """The herd has fixed milkings and they are on record."""
        return bool(self.times)

    @property
    def twice_a_day(self) -> bool:
        """The herd is milked as labels assume, about every 12 h."""
        return len(self.times) == 2

    def starts(self, moment: datetime, tz: tzinfo) -> Iterator[datetime]:
        """Yield the UTC starts of every milking at or after the moment, without end."""
        first = instant(moment)
        day = first.astimezone(tz).date() - timedelta(days=1)
        while self.times:
            yield from sorted(start for at in self.times if (start := local_moment(day, at, tz)) >= first)
            day += timedelta(days=1)

    def first_at_or_after(self, moment: datetime, tz: tzinfo) -> datetime | None:
        """Return the first milking that starts at or after the moment, None without fixed times."""
        return next(self.starts(moment, tz), None)

    def after_throwing_away(self, milkings: int, moment: datetime, tz: tzinfo) -> datetime | None:
        """Return the milking that follows so many milkings from the moment on."""
        return next(islice(self.starts(moment, tz), milkings, None), None)

    def thrown_away(self, moment: datetime, until: datetime, tz: tzinfo) -> int:
        """Count the milkings that start in [moment, until)."""
        end = instant(until)
        count = 0
        for start in self.starts(moment, tz):
            if start >= end:
                break
            count += 1
        return count


NO_HERD = Milking()

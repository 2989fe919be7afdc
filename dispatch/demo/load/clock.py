"""Laying the script's minutes on real time, so that the moment it shows is now."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from dispatch.demo.scenario.read import EVENING_BEGINS_MIN

HALF_HOUR = timedelta(minutes=30)
MORNING = time(8)
NIGHT_LEFT = timedelta(hours=4)
"""The vets on call stay at least so long: an evening opened at five ends on the next day's morning."""
DAY_MIN = 1440


@dataclass(frozen=True)
class EveningClock:
    """Instants of the script's minutes, which count from the evening's beginning.

    Calls and what is done about them are laid in elapsed time, so that minute `now_min` is `now`.
    The rota and the book keep their clock times, whatever the hour: day team at eight, bookings by
    day. Only the duties of the evening itself begin with it, on a round half hour, at noon if need be.
    """

    now: datetime
    now_min: int
    zone: tzinfo

    @classmethod
    def showing(cls, now: datetime, now_min: int, zone: tzinfo) -> "EveningClock":
        """Return the clock that shows `now_min` at the whole minute just begun."""
        return cls(now.replace(second=0, microsecond=0), now_min, zone)

    @property
    def began(self) -> datetime:
        """The instant at which the script's evening begins."""
        return self.at(0)

    @property
    def rota_began(self) -> datetime:
        """The round half hour at which the evening's duties begin."""
        local = self.began.astimezone(self.zone)
        return self.began - timedelta(minutes=local.minute) % HALF_HOUR

    @property
    def first_day(self) -> date:
        """The day that the script counts as 0: the one before the morning on which the night ends."""
        day = self.now.astimezone(self.zone).date()
        while self._on(day, MORNING) < self.now + NIGHT_LEFT:
            day += timedelta(days=1)
        return day - timedelta(days=1)

    def at(self, minute: int) -> datetime:
        """Return the instant of a minute of the story."""
        return self.now + timedelta(minutes=minute - self.now_min)

    def on_rota(self, minute: int) -> datetime:
        """Return the instant of a minute of the rota or the book."""
        if minute == 0:
            return self.rota_began
        days, clock = divmod(minute + EVENING_BEGINS_MIN, DAY_MIN)
        return self._on(self.first_day + timedelta(days=days), time(*divmod(clock, 60)))

    def _on(self, day: date, clock: time) -> datetime:
        return datetime.combine(day, clock, tzinfo=self.zone).astimezone(UTC)

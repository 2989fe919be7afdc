"""Laying the script's minutes on real time, so that the moment it shows is now."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

HALF_HOUR = timedelta(minutes=30)


@dataclass(frozen=True)
class EveningClock:
    """Instants of the script's minutes, which count from the evening's beginning.

    Calls and what is done about them are laid so that minute `now_min` is `now`. The rota and the
    day's book begin up to half an hour earlier, on a round local half hour, so that nobody is on
    call "until 21:47". All of it is elapsed time: no duty grows or shrinks where the clocks change.
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
        """The round half hour at which the night's duties begin."""
        local = self.began.astimezone(self.zone)
        return self.began - timedelta(minutes=local.minute) % HALF_HOUR

    def at(self, minute: int) -> datetime:
        """Return the instant of a minute of the story."""
        return self.now + timedelta(minutes=minute - self.now_min)

    def on_rota(self, minute: int) -> datetime:
        """Return the instant of a minute of the rota or the book."""
        return self.rota_began + timedelta(minutes=minute)

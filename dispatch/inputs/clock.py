"""Instants as whole minutes of a plan, rounded to the side that promises less."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil, floor


@dataclass(frozen=True)
class PlanClock:
    """Minute 0 is `epoch`, a whole minute."""

    epoch: datetime

    @classmethod
    def starting(cls, now: datetime) -> "PlanClock":
        """Return the clock whose minute 0 is the next whole minute, or `now` where it is one."""
        begun = now.replace(second=0, microsecond=0)
        return cls(begun if begun == now else begun + timedelta(minutes=1))

    def not_before(self, instant: datetime) -> int:
        """Return the first minute that is no earlier than the instant."""
        return ceil(self._minutes(instant))

    def not_after(self, instant: datetime) -> int:
        """Return the last minute that is no later than the instant."""
        return floor(self._minutes(instant))

    def at(self, minute: int) -> datetime:
        """Return the instant of a minute."""
        return self.epoch + timedelta(minutes=minute)

    def _minutes(self, instant: datetime) -> float:
        return (instant - self.epoch) / timedelta(minutes=1)

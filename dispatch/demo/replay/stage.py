"""When things happen: the pace of the script, and what is to be done at which instant."""

import heapq
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Protocol

Action = Callable[[], None]


class Clock(Protocol):
    """A clock that can be waited on. Tests travel; the command sleeps."""

    def now(self) -> datetime:
        """Return the present instant, aware."""

    def wait_until(self, instant: datetime) -> None:
        """Return at the instant, or earlier when something may have happened."""


class WallClock:
    """The real clock."""

    def now(self) -> datetime:
        """Return the present instant."""
        return datetime.now(UTC)

    def wait_until(self, instant: datetime) -> None:
        """Sleep."""
        time.sleep(max(0.0, (instant - self.now()).total_seconds()))


@dataclass(frozen=True)
class Pace:
    """How many times faster than life the script's minutes pass. Nothing is dated ahead or back."""

    speed: float

    def of(self, minutes: float) -> timedelta:
        """Return how long so many minutes of the script take."""
        return timedelta(minutes=minutes) / self.speed


@dataclass
class Agenda:
    """Actions by their instant; those of one instant in the order in which they were noted."""

    clock: Clock
    pace: Pace
    _heap: list[tuple[datetime, int, Action]] = field(default_factory=list)
    _order: "count[int]" = field(default_factory=count)

    def after(self, minutes: float, action: Action) -> None:
        """Note an action for so many script minutes from now."""
        self.at(self.clock.now() + self.pace.of(minutes), action)

    def at(self, instant: datetime, action: Action) -> None:
        """Note an action for an instant."""
        heapq.heappush(self._heap, (instant, next(self._order), action))

    @property
    def next_at(self) -> datetime | None:
        """Return the instant of the next action, or None."""
        return self._heap[0][0] if self._heap else None

    def run_due(self) -> int:
        """Do what is due, and what that makes due at once; return how many actions it was."""
        done = 0
        while self._heap and self._heap[0][0] <= self.clock.now():
            heapq.heappop(self._heap)[2]()
            done += 1
        return done

"""Which way a message goes: by person, by time of day, by what is set up."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, time
from typing import NamedTuple


@dataclass(frozen=True)
class Way:
    """One way to reach a person, used from `start` until `end` on the local clock, half-open.

    Both None, or the same clock twice: the whole day. A lower `order` is tried before a higher one.
    """

    channel: str
    address: str
    start: time | None = None
    end: time | None = None
    order: int = 0

    def is_open(self, clock: time) -> bool:
        """Say whether the way is used at this time of day."""
        if self.start is None or self.end is None or self.start == self.end:
            return True
        if self.start < self.end:
            return self.start <= clock < self.end
        return clock >= self.start or clock < self.end


class Choice(NamedTuple):
    """The way that was chosen, and the clock at which it opens where it is closed now."""

    way: Way
    opens_at: time | None = None


def choose(
    ways: Iterable[Way], local: datetime, usable: Collection[str], *, urgent: bool = False
) -> Choice | None:
    """Return the first way that is open at the practice's local time, or else the next that opens.

    `usable` names the channels for which a line is set up. An urgent message waits for no clock: if
    no way is open, it goes by the first there is. None: this person can only be rung.
    """
    there = sorted((way for way in ways if way.channel in usable), key=lambda way: way.order)
    clock = local.time()
    way = next((way for way in there if way.is_open(clock)), None)
    if way is not None:
        return Choice(way)
    if not there:
        return None
    if urgent:
        return Choice(there[0])
    soonest = min(there, key=lambda each: (_minutes_until(each, clock), each.order))
    return Choice(soonest, soonest.start)


def _minutes_until(way: Way, clock: time) -> float:
    assert way.start is not None  # a way without a clock is always open
    ahead = _minutes(way.start) - _minutes(clock)
    return ahead if ahead >= 0 else ahead + 24 * 60


def _minutes(clock: time) -> float:
    return clock.hour * 60 + clock.minute + clock.second / 60

"""The one time axis: how far it reaches, its ticks, and where an instant stands on it. Pure."""

from collections.abc import Iterable
from datetime import datetime, timedelta, tzinfo

from dispatch.desk.shapes import Axis, Tick
from dispatch.desk.words import clock_words

SHORTEST = timedelta(hours=4)
LONGEST = timedelta(hours=8)
MOST_TICKS = 7
CLEAR_OF_NOW = 12  # percent; a tick nearer than this would be written over "now" on a phone


def axis_for(now: datetime, instants: Iterable[datetime], zone: tzinfo) -> Axis:
    """Return an axis from now to the last instant that matters, between 4 and 8 hours long."""
    latest = max((at for at in instants if at <= now + LONGEST), default=now)
    end = _next_hour(max(now + SHORTEST, latest), zone)
    hours = list(_hours(now, end, zone))
    step = -(-len(hours) // (MOST_TICKS - 1))
    bare = Axis(now, end, ())
    marks = [Tick(at, share(bare, at), clock_words(at, now, zone)) for at in hours[step - 1 :: step]]
    return Axis(now, end, (Tick(now, 0.0, "now"), *(tick for tick in marks if tick.share > CLEAR_OF_NOW)))


def share(axis: Axis, at: datetime) -> float:
    """Return where an instant stands, in percent, cut off at both ends."""
    part = (at - axis.start) / (axis.end - axis.start)
    return round(100 * min(1.0, max(0.0, part)), 2)


def _next_hour(at: datetime, zone: tzinfo) -> datetime:
    local = at.astimezone(zone)
    past = timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
    return at if not past else at + timedelta(hours=1) - past


def _hours(now: datetime, end: datetime, zone: tzinfo) -> Iterable[datetime]:
    at = _next_hour(now, zone)
    while at <= end:
        yield at
        at += timedelta(hours=1)

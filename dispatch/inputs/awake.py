"""How long a vet has been up, guessed from the clock and from what was worked.

Pure Python. A guess, not a measurement: a vet is taken to rise at 06:00, or when woken out of
at least three hours in the night [cp]. The vet's own word stands above it.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta

RISE = time(6)
BED = time(23)
EVENING = time(22)
A_SLEEP = timedelta(hours=3)

Span = tuple[datetime, datetime]

STEEP_FROM_HOURS = ((16, 30), (17, 100), (18, 400))
"""Points per minute awake beyond so many hours: 17 to 19 h awake matched 0.05 % blood alcohol on
most tests [S48]; the prices are common practice [cp]."""


def awake_since(local: datetime, busy: Sequence[Span]) -> datetime:
    """Return when the vet got up; `local` itself where they sleep now.

    `local` is on the practice's clock, `busy` is what was worked lately, in order.
    """
    bed = _last(local, BED)
    morning = _next(bed, RISE)
    woke, up_until = _last(bed, RISE), bed
    for start, end in busy:
        if end <= bed or start >= min(local, morning):
            continue
        if _apart(up_until, start) >= A_SLEEP:
            woke = start
        up_until = max(up_until, end)
    if _apart(up_until, min(local, morning)) >= A_SLEEP:
        woke = min(local, morning)
    return woke


def night_began(local: datetime) -> datetime | None:
    """Return 22:00 of the night under way, None by day (06:00 to 22:00)."""
    if RISE <= local.time() < EVENING:
        return None
    return _last(local, EVENING)


def awake_cost(minutes_awake: int) -> tuple[tuple[int, int], ...]:
    """Return the price curve (from minute, points per minute) for a vet who is up so long already."""
    curve: dict[int, int] = {}
    for hours, points in STEEP_FROM_HOURS:
        curve[max(0, hours * 60 - minutes_awake)] = points
    return tuple(sorted(curve.items()))


def _last(local: datetime, clock: time) -> datetime:
    """Return the latest moment at which the clock showed this time."""
    moment = local.replace(hour=clock.hour, minute=clock.minute, second=0, microsecond=0)
    return moment if moment <= local else moment - timedelta(days=1)


def _next(local: datetime, clock: time) -> datetime:
    return _last(local, clock) + timedelta(days=1)


def _apart(start: datetime, end: datetime) -> timedelta:
    """Return elapsed time, whatever the clocks were changed to in between."""
    return end.astimezone(UTC) - start.astimezone(UTC)

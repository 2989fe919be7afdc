"""How long a vet has been awake, for simulated nights: an estimate from duties alone.

Real vets are asked how they slept: rotas.fatigue.awake reads what they say, and what is shown is from there.
Assumptions, none of them measured: free time between 22:00 and 07:00 local is slept, beginning half an
hour after the last contact; after a night with less than 5 h of it, free time of at least 6 h by day is
slept for 5 h from an hour after coming off duty; an hour asleep pays back two hours awake (as 8 h of
sleep carry 16 h awake). All common practice or our own reading [cp]; the vet's own word stands before it.
"""

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from functools import reduce
from itertools import pairwise

from rotas.rest.intervals import ZERO, Span, Spans, clip, gaps, merge, total, utc
from rotas.rest.localtime import local, local_day, nights
from rotas.rest.log import DutyLog

BED, RISE = time(22), time(7)
SETTLING = timedelta(minutes=30)
SHORT_NIGHT = timedelta(hours=5)
DAY_REST, DAY_SLEEP_AFTER, DAY_SLEEP = timedelta(hours=6), timedelta(hours=1), timedelta(hours=5)
PAID_BACK = 2
LOOK_BACK = timedelta(days=4)


def sleep_estimate(log: DutyLog, until: datetime) -> Spans:
    """Return the stretches before the moment that were probably slept, over the last four days."""
    until = utc(until)
    window = Span(until - LOOK_BACK, until)
    slept = merge(span for _, night in nights(window, BED, RISE, log.tz) for span in _slept(log, night))
    return clip(slept, window)


def _slept(log: DutyLog, night: Span) -> Iterator[Span]:
    """Yield the sleep of one night and, after a short one, of the day behind it."""
    asleep = tuple(_settled(log, night))
    yield from asleep
    if total(asleep) < SHORT_NIGHT:
        yield from _day_sleep(log, Span(night.end, night.end + timedelta(hours=10)))


def _settled(log: DutyLog, night: Span) -> Iterator[Span]:
    for gap in gaps(log.counted, night):
        start = gap.start if gap.start == night.start else gap.start + SETTLING
        if start < gap.end:
            yield Span(start, gap.end)


def _day_sleep(log: DutyLog, day: Span) -> Iterator[Span]:
    for gap in gaps(log.counted, day):
        if gap.length >= DAY_REST:
            start = gap.start + DAY_SLEEP_AFTER
            yield Span(start, min(start + DAY_SLEEP, gap.end))
            return


def hours_awake(log: DutyLog, now: datetime, *, awake_since: datetime | None = None) -> timedelta:
    """Return the time awake at the moment. What the vet says (`awake_since`) replaces the estimate."""
    now = utc(now)
    if awake_since is not None:
        return max(ZERO, now - utc(awake_since))
    start = local(local_day(now - LOOK_BACK, log.tz), RISE, log.tz)
    slept = [span for span in sleep_estimate(log, now) if span.start >= start]
    edges = [start, *(edge for span in slept for edge in (span.start, span.end)), now]
    stretches = list(pairwise(edges))
    return reduce(_pass, enumerate(stretches), ZERO)


def _pass(awake: timedelta, numbered: tuple[int, tuple[datetime, datetime]]) -> timedelta:
    """Add a stretch awake (even numbers), or take off what a stretch asleep pays back (odd numbers)."""
    number, (start, end) = numbered
    return max(ZERO, awake - PAID_BACK * (end - start)) if number % 2 else awake + (end - start)

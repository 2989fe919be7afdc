"""When a reminder goes out: early enough to act on, and never in the practice's quiet hours."""

from datetime import datetime, time, timedelta

from rotas.models import Practice
from rotas.outbox import after_quiet, before_quiet, is_quiet

BEFORE_MILKING = timedelta(hours=2)  # one to three hours before it [cp]
EARLIEST, LATEST = timedelta(hours=3), timedelta(hours=1)
EVENING_LEAD = timedelta(hours=1)  # for an early milking: this long before the quiet hours begin [cp]
MORNING = time(9)


def before_milking(practice: Practice, milking: datetime, now: datetime) -> datetime:
    """Return when to tell of the first milking that may be sold.

    One to three hours before it; where that is in the quiet hours, the evening before.
    """
    opening = after_quiet(practice, milking - BEFORE_MILKING)
    for moment in (milking - BEFORE_MILKING, opening, milking - EARLIEST):
        if milking - EARLIEST <= moment <= milking - LATEST and not is_quiet(practice, moment):
            return _not_past(practice, moment, now)
    evening = before_quiet(practice, milking - BEFORE_MILKING, lead=EVENING_LEAD)
    return _not_past(practice, evening, now)


def on_first_day(practice: Practice, day_starts: datetime, now: datetime) -> datetime:
    """Return 09:00 on the local day that starts then: meat or eggs may be sold from that day on."""
    day = practice.local(day_starts).date()
    return _not_past(practice, datetime.combine(day, MORNING, tzinfo=practice.tz), now)


def next_morning(practice: Practice, now: datetime) -> datetime:
    """Return 09:00 on the next local day: a date that became shorter is told in no hurry."""
    day = practice.local(now).date() + timedelta(days=1)
    return after_quiet(practice, datetime.combine(day, MORNING, tzinfo=practice.tz))


def for_recheck(practice: Practice, due_at: datetime, now: datetime) -> datetime:
    """Return when to remind of a check: when it is due, or before the night that it falls in."""
    if not is_quiet(practice, due_at):
        return _not_past(practice, due_at, now)
    evening = before_quiet(practice, due_at, lead=EVENING_LEAD)
    if evening >= now and not is_quiet(practice, evening):
        return evening
    return after_quiet(practice, max(due_at, now))


def _not_past(practice: Practice, moment: datetime, now: datetime) -> datetime:
    return after_quiet(practice, max(moment, now))

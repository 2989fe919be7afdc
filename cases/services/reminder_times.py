"""The times of reminders for a practice, by its own clock and quiet hours."""

from datetime import datetime

from cases.reminding import times
from rotas.models import Practice
from rotas.outbox import quiet_of


def before_milking(practice: Practice, milking: datetime, now: datetime) -> datetime:
    """Return when to tell of the first milking that may be sold."""
    return times.before_milking(milking, quiet_of(practice), now)


def on_first_day(practice: Practice, day_starts: datetime, now: datetime) -> datetime:
    """Return when to tell that meat or eggs may be sold."""
    return times.on_first_day(day_starts, quiet_of(practice), now)


def next_morning(practice: Practice, now: datetime) -> datetime:
    """Return when to tell of a date that became shorter."""
    return times.next_morning(quiet_of(practice), now)


def for_recheck(practice: Practice, due_at: datetime, now: datetime) -> datetime:
    """Return when to remind of a check."""
    return times.for_recheck(due_at, quiet_of(practice), now)

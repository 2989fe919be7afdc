"""When milk is collected next."""

from collections.abc import Collection
from datetime import datetime, time, timedelta, tzinfo

from cases.withdrawal.clock import local_moment


def next_collection(weekdays: Collection[int], at: time, tz: tzinfo, now: datetime) -> datetime:
    """Return the first collection after the moment, on the local clock; weekdays run from 0 for Monday."""
    if not weekdays:
        raise ValueError("A collection needs at least one weekday.")
    day = now.astimezone(tz).date()
    ahead = (day + timedelta(days=days) for days in range(9))
    moments = (local_moment(each, at, tz) for each in ahead if each.weekday() in weekdays)
    return next(moment for moment in moments if moment > now)

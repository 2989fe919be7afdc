"""The first milk after a calving, which stays out of the tank whatever was given."""

from datetime import datetime, timedelta, tzinfo

from cases.withdrawal.clock import after
from cases.withdrawal.herd import Milking
from cases.withdrawal.periods import MILKING_HOURS

COLOSTRUM_MILKINGS = 8  # [S35]


def clear_of_colostrum(calved_at: datetime, herd: Milking | None, tz: tzinfo) -> datetime:
    """Return the first milking after the eight of colostrum and 8 x 12 h, whichever is later."""
    by_hours = after(calved_at, timedelta(hours=COLOSTRUM_MILKINGS * MILKING_HOURS))
    if herd is None or not herd.known:
        return by_hours
    counted = herd.after_throwing_away(COLOSTRUM_MILKINGS, calved_at, tz)
    timed = herd.first_at_or_after(by_hours, tz)
    return max(moment for moment in (by_hours, counted, timed) if moment is not None)

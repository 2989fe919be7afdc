"""By when a farm has to know: the milking, the collection or the sale at which it matters."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from cases.reminding.ringing import BEFORE, MEAT_ALONE
from cases.reminding.worth import SALES, Kind
from cases.withdrawal.herd import Milking

ROBOT_SOON = timedelta(hours=4)  # a cow may walk into the robot at any hour; rung two hours before that [cp]


@dataclass(frozen=True)
class Stake:
    """Before `use_at` it has to be known; `dangerous` where produce that is held could be sold by then."""

    use_at: datetime
    dangerous: bool


def stake_of(
    kind: Kind,
    about_at: datetime,
    now: datetime,
    *,
    milk: bool,
    milking: Milking | None,
    tz: tzinfo,
    was_at: datetime | None = None,
    later: bool = True,
) -> Stake | None:
    """Return what is at stake with a message, None where nobody has to be rung about it.

    `was_at` is the date that was told before a change, `later` says whether it moved to a later one.
    """
    if kind is Kind.MILK_ENDS:
        return Stake(about_at, False)
    if kind in SALES:
        return Stake(about_at, True)
    if kind in (Kind.GIVEN, Kind.HELD) or (kind is Kind.CHANGED and later):
        told_before = was_at if was_at is not None and was_at > now else None
        return Stake(told_before or _next_use(milk, milking, tz, now), True)
    return None


def _next_use(milk: bool, milking: Milking | None, tz: tzinfo, now: datetime) -> datetime:
    """Return when the produce could next be used: milk at the next milking, meat not within the day."""
    if not milk:
        return now + MEAT_ALONE + BEFORE
    return (milking.first_at_or_after(now, tz) if milking else None) or now + ROBOT_SOON

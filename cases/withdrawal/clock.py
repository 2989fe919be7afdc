"""Real hours: instants are added to in UTC and only shown in the farm's zone."""

from datetime import UTC, date, datetime, time, timedelta, tzinfo


def instant(moment: datetime) -> datetime:
    """Return the moment in UTC; a time without a zone is refused, it could be any hour."""
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise ValueError(f"{moment.isoformat()} has no time zone. Give the time with its zone or offset.")
    return moment.astimezone(UTC)


def after(moment: datetime, length: timedelta) -> datetime:
    """Return the instant that many real hours later, whatever the clocks do in between."""
    return instant(moment) + length


def local_moment(day: date, at: time, tz: tzinfo) -> datetime:
    """Return the instant of a local clock time; the earlier one when the clock shows it twice."""
    return datetime.combine(day, at.replace(fold=0), tzinfo=tz).astimezone(UTC)


def local_midnight(day: date, tz: tzinfo) -> datetime:
    """Return the instant at which the local day begins."""
    return local_moment(day, time(0), tz)


def first_full_day(moment: datetime, tz: tzinfo) -> date:
    """Return the first local calendar day that lies wholly at or after the moment."""
    day = instant(moment).astimezone(tz).date()
    return day if local_midnight(day, tz) >= instant(moment) else day + timedelta(days=1)


def clocks_change(start: datetime, end: datetime, tz: tzinfo) -> bool:
    """Say whether the zone's offset differs between the two instants."""
    return instant(start).astimezone(tz).utcoffset() != instant(end).astimezone(tz).utcoffset()


def shown(moment: datetime, tz: tzinfo) -> str:
    """Return the moment as it is spoken on the farm: 'Fri 6 Feb 2026 05:30'."""
    local = instant(moment).astimezone(tz)
    return f"{local:%a} {local.day} {local:%b %Y %H:%M}"


def shown_day(day: date) -> str:
    """Return the day as it is spoken on the farm: 'Fri 6 Feb 2026'."""
    return f"{day:%a} {day.day} {day:%b %Y}"

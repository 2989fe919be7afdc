"""Local days, weeks and nights as stretches of real time, and times and lengths in words."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache

from rotas.rest.intervals import Span, utc

A_DAY = timedelta(days=1)


def local(day: date, at: time, tz: tzinfo) -> datetime:
    """Return the instant of a local clock time."""
    return utc(datetime.combine(day, at, tzinfo=tz))


def local_day(moment: datetime, tz: tzinfo) -> date:
    """Return the local date of the moment."""
    return (moment if moment.tzinfo is UTC else utc(moment)).astimezone(tz).date()


@lru_cache(maxsize=4096)
def day_span(day: date, tz: tzinfo, days: int = 1) -> Span:
    """Return the local days from midnight to midnight: 23 or 25 h where the clocks change."""
    return Span(local(day, time(0), tz), local(day + timedelta(days=days), time(0), tz))


@lru_cache(maxsize=4096)  # every vet has the same nights
def night_span(evening: date, start: time, end: time, tz: tzinfo) -> Span:
    """Return the night that begins on that evening."""
    return Span(local(evening, start, tz), local(evening + timedelta(days=1), end, tz))


def nights(window: Span, start: time, end: time, tz: tzinfo) -> Iterator[tuple[date, Span]]:
    """Yield every night that shares time with the window, with the date of its evening."""
    evening = local_day(window.start, tz) - A_DAY
    while (night := night_span(evening, start, end, tz)).start < window.end:
        if window.start < night.end:
            yield evening, night
        evening += A_DAY


def weeks(window: Span, tz: tzinfo, length: int = 1) -> Iterator[Span]:
    """Yield the fixed periods of whole weeks, from Monday 00:00 local, that share time with the window."""
    first = local_day(window.start, tz)
    monday = first - timedelta(days=first.weekday())
    while (week := day_span(monday, tz, days=7 * length)).start < window.end:
        yield week
        monday += timedelta(days=7 * length)


@lru_cache(maxsize=16384)
def shown(moment: datetime, tz: tzinfo) -> str:
    """Return the moment as it is spoken: 'Tue 3 Jun 08:00'."""
    at = utc(moment).astimezone(tz)
    return f"{at:%a} {at.day} {at:%b %H:%M}"


def clock(moment: datetime, tz: tzinfo) -> str:
    """Return the local clock time: '08:00'."""
    return f"{utc(moment).astimezone(tz):%H:%M}"


def in_words(length: timedelta) -> str:
    """Return the length in words: '10 h 30 min'; seconds are cut, a length never looks longer than it is."""
    minutes = int(abs(length) / timedelta(minutes=1))
    hours, rest = divmod(minutes, 60)
    words = (
        f"{hours} h {rest} min" if hours and rest else f"{hours} h" if hours or not rest else f"{rest} min"
    )
    return f"-{words}" if length < timedelta(0) and minutes else words


def hours(length: timedelta) -> float:
    """Return the length in hours."""
    return length / timedelta(hours=1)

"""Measuring duties: rest before a start, rest in 24 hours, nights, weeks, averages, driving."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from operator import itemgetter

from rotas.rest.intervals import DAY, ZERO, Span, Spans, clip, covered, gaps, longest_gap
from rotas.rest.localtime import day_span, local_day, nights, weeks
from rotas.rest.log import DutyLog
from rotas.rest.rules import Rule

NIGHT_TIME = time(23), time(6)
NIGHT_WORK = timedelta(hours=3)


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount of time found in a window; `moment` is when it was decided."""

    amount: timedelta
    window: Span
    moment: datetime


def planned_duties(planned: Spans, required: timedelta) -> Spans:
    """Return the planned duties: stretches that fit, pauses included, into 24 h less the rest are one.

    So a split day is one duty, and the pause at noon is not taken for a night.
    """
    joined: list[Span] = []
    for span in planned:
        if joined and span.end - joined[-1].start <= DAY - required:
            joined[-1] = Span(joined[-1].start, span.end)
        else:
            joined.append(span)
    return tuple(joined)


def windows_before_starts(log: DutyLog, required: timedelta) -> list[Span]:
    """Return the windows in which daily rest must have been had, by the gap reading.

    Before each planned duty: from the end of the one before it, at most 24 hours. Since a long duty
    or stand-by must hold rest too, also the 24 hours to each further day of one.
    """
    duties = planned_duties(log.planned, required)
    windows = [(duty.start - DAY, duty.start) for duty in duties[:1]]
    windows += [(max(before.end, after.start - DAY), after.start) for before, after in pairwise(duties)]
    windows += [(mark - DAY, mark) for span in (*duties, *log.standby) for mark in day_marks(span)]
    return [Span(*window) for window in sorted(set(windows), key=itemgetter(1, 0))]


def day_marks(span: Span) -> list[datetime]:
    """Return the moments at which another 24 hours of the stretch are full."""
    return [span.start + DAY * day for day in range(1, int(span.length / DAY) + 1)]


def daily_rest_by_gap(log: DutyLog, required: timedelta) -> Iterator[Measured]:
    """Yield the longest unbroken rest before each planned start; the moment is the start."""
    for window in windows_before_starts(log, required):
        yield Measured(longest_gap(log.counted, window), window, window.end)


def duty_days(counted: Spans, length: timedelta = DAY) -> Iterator[Span]:
    """Yield the 24 hours from the first work, then from the first work after those, and so on."""
    cursor: datetime | None = None
    for span in counted:
        start = span.start if cursor is None else max(span.start, cursor)
        while start < span.end:
            yield Span(start, start + length)
            cursor = start + length
            start = cursor


def daily_rest_by_window(log: DutyLog, window: timedelta = DAY) -> Iterator[Measured]:
    """Yield the longest unbroken rest inside each 24 hours that begin with work."""
    for day in duty_days(log.counted, window):
        yield Measured(longest_gap(log.counted, day), day, day.end)


def on_call_nights(log: DutyLog, rule: Rule) -> Iterator[tuple[date, Measured]]:
    """Yield the longest unbroken rest inside each night of which any part was on call at home."""
    for evening, night in log.nights_standing_by(*rule.span_of_clock):
        yield evening, Measured(longest_gap(log.counted, night), night, night.end)


def rest_in(counted: Spans, window: Span) -> timedelta:
    """Return all rest in the window, blocks together."""
    return window.length - covered(counted, window)


def least_rest(counted: Spans, around: Span, length: timedelta = DAY) -> Measured:
    """Return the window of that length, sharing time with `around`, that holds the least rest.

    Only windows that begin or end with a stretch of work, or that only just touch `around`, can
    hold the least, because in between the sum changes in straight lines.
    """
    first, last = around.start - length, around.end
    worked = clip(counted, Span(first, last + length))
    if not worked:
        return Measured(length, Span(first, around.start), around.start)
    edges = [span.start for span in worked] + [span.end - length for span in worked]
    starts = (first, around.start, last, *(edge for edge in edges if first < edge < last))
    rests = [(length - covered(worked, Span(start, start + length)), start) for start in starts]
    least, start = min(rests, key=itemgetter(0))
    return Measured(least, Span(start, start + length), start + length)


def weekly_rest(log: DutyLog, length_weeks: int = 1) -> Iterator[Measured]:
    """Yield the longest unbroken rest inside each fixed period of whole weeks with any duty in it."""
    hull = log.hull
    if hull is None:
        return
    for week in weeks(hull, log.tz, length_weeks):
        if log.known is None or (log.known.start <= week.start and week.end <= log.known.end):
            yield Measured(longest_gap(log.counted, week), week, week.end)


def worked_in(log: DutyLog, window: Span) -> timedelta:
    """Return the working time in the window."""
    return covered(log.counted, window)


def average_week(worked: timedelta, added_for_leave: timedelta, weeks_counted: float) -> timedelta:
    """Return (A + B) / C of WTR 1998 reg 4(6)."""
    if weeks_counted <= 0:
        raise ValueError("A reference period needs at least one week.")
    return (worked + added_for_leave) / weeks_counted


def average_night(worked: timedelta, days: float) -> timedelta:
    """Return A / (B - C) of WTR 1998 reg 6: hours over the days of the period less its weekly rest days."""
    if days <= 0:
        raise ValueError("A reference period needs at least one day.")
    return worked / days


def is_night_worker(log: DutyLog, period: Span) -> bool:
    """Say whether on most days worked in the period three hours or more fell between 23:00 and 06:00.

    The hours and "most days" are from memory (Directive 2003/88/EC Art 2(3)-(4), WTR 1998 reg 2(1)).
    """
    start, end = NIGHT_TIME
    windows = (night for _, night in nights(period, start, end, log.tz))
    by_night = sum(1 for night in windows if worked_in(log, night) >= NIGHT_WORK)
    days = {local_day(span.start, log.tz) for span in clip(log.counted, period)}
    return 2 * by_night > len(days)


def added_for_leave(log: DutyLog, period: Span) -> timedelta:
    """Return B: the work of as many working days right after the period as there were leave days in it.

    Days after the period without work are passed over. Where the duties end before enough working
    days have passed, what there is counts.
    """
    wanted = sum(1 for day in log.leave if period.start <= day_span(day, log.tz).start < period.end)
    added, day = timedelta(0), local_day(period.end, log.tz)
    hull = log.hull
    while wanted and hull is not None and (window := day_span(day, log.tz)).start < hull.end:
        worked = worked_in(log, window)
        if worked and day not in log.leave:
            added, wanted = added + worked, wanted - 1
        day += timedelta(days=1)
    return added


def averages(log: DutyLog, length: timedelta) -> Iterator[Measured]:
    """Yield the average week of every reference period that ends with a week that has duty in it."""
    hull = log.hull
    if hull is None:
        return
    count = round(length / timedelta(weeks=1))
    for week in weeks(hull, log.tz):
        last_monday = local_day(week.end, log.tz)
        period = Span(day_span(last_monday - timedelta(weeks=count), log.tz).start, week.end)
        if log.known is not None and not (log.known.start <= period.start and period.end <= log.known.end):
            continue
        worked = worked_in(log, period)
        yield Measured(average_week(worked, added_for_leave(log, period), count), period, period.end)


def driving_after(driven: Spans, from_moment: datetime, until: datetime) -> timedelta:
    """Return the driving in [from, until)."""
    return covered(driven, Span(from_moment, until)) if until > from_moment else ZERO


def driving_without_break(log: DutyLog, period: Span, pause: timedelta) -> timedelta:
    """Return the most driving added up in the period between interruptions of at least that pause."""
    driven = clip(log.driven, period)
    most = run = timedelta(0)
    previous: Span | None = None
    for span in driven:
        run = span.length if previous is None or span.start - previous.end >= pause else run + span.length
        most, previous = max(most, run), span
    return most


def since_restart(log: DutyLog, moment: datetime, window: timedelta, restart: timedelta | None) -> timedelta:
    """Return the working time of the window before the moment, counted from the last long rest in it."""
    reach = Span(moment - window, moment)
    long_rests = [gap for gap in gaps(log.counted, reach) if restart is not None and gap.length >= restart]
    start = max((gap.end for gap in long_rests), default=reach.start)
    return worked_in(log, Span(start, moment)) if start < moment else timedelta(0)

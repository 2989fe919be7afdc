"""Hours per week over the reference period that the average week is judged by."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from rotas.fatigue_report.kept import Asked, Kept
from rotas.rest.intervals import ZERO, Span, covered
from rotas.rest.localtime import day_span, local_day
from rotas.rest.log import DutyLog
from rotas.rest.measure import added_for_leave, average_week, worked_in
from rotas.rest.rules import REFERENCE, Measure


@dataclass(frozen=True)
class Week:
    """One week from Monday 00:00 local."""

    monday: date
    worked: timedelta
    standby: timedelta


@dataclass(frozen=True)
class WeekHours:
    """The whole weeks of the reference period, oldest first, and their average with leave added back.

    Weeks before the vet began here are left out. `most` is what the rule set allows, None if it says nothing.
    """

    weeks: tuple[Week, ...]
    added_for_leave: timedelta
    average: timedelta
    most: timedelta | None

    @property
    def over(self) -> bool:
        """Say whether the average is more than the set allows."""
        return self.most is not None and self.average > self.most


def week_hours(kept: Kept, log: DutyLog, asked: Asked) -> WeekHours:
    """Return the whole weeks that end by the end of the period."""
    rule = asked.rule_set.one(Measure.AVERAGE_WEEK)
    length = rule.reference if rule else REFERENCE
    mondays = [day for day in _mondays(asked, length) if not _before_start(kept, day)]
    weeks = tuple(_week(log, monday) for monday in mondays)
    most = rule.amount if rule else None
    if not weeks:
        return WeekHours((), ZERO, ZERO, most)
    period = Span(day_span(mondays[0], log.tz).start, day_span(mondays[-1], log.tz, days=7).end)
    added = added_for_leave(log, period)
    worked = sum((week.worked for week in weeks), ZERO)
    return WeekHours(weeks, added, average_week(worked, added, len(weeks)), most)


def last_monday(until: datetime, asked: Asked) -> date:
    """Return the last Monday whose 00:00 local is not after the moment."""
    day = local_day(until, asked.tz)
    return day - timedelta(days=day.weekday())


def _mondays(asked: Asked, length: timedelta) -> list[date]:
    end = last_monday(asked.until, asked)
    return [end - timedelta(weeks=back) for back in range(round(length / timedelta(weeks=1)), 0, -1)]


def _before_start(kept: Kept, monday: date) -> bool:
    since = kept.person.since
    return since is not None and monday + timedelta(days=6) < since


def _week(log: DutyLog, monday: date) -> Week:
    window = day_span(monday, log.tz, days=7)
    return Week(monday, worked_in(log, window), covered(log.standby, window))

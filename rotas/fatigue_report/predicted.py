"""Predicted sleepiness through the period, hour by hour and by its worst hour of each day.

A model of groups and not of this vet: an estimate, which clears nobody.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from rotas.fatigue.line import WARM_UP, Line, line_of
from rotas.fatigue.sleep import Report
from rotas.fatigue_report.kept import Asked, Kept
from rotas.rest.intervals import DAY, Span
from rotas.rest.localtime import day_span, local_day

STEP = timedelta(hours=1)


@dataclass(frozen=True)
class SleepyDay:
    """The worst hour of one local day: Karolinska scale from 1 (very alert) to 9 (fighting sleep).

    `low` and `high` bound that hour by the published forms and the early and late assumptions.
    """

    day: date
    at: datetime
    kss: float
    low: float
    high: float


@dataclass(frozen=True)
class Predicted:
    """The line of the period, an hour a step, and its days; a day slept through has no worst hour."""

    line: Line
    days: tuple[SleepyDay, ...]

    @property
    def worst(self) -> SleepyDay | None:
        """The day with the worst hour of all, the first of equals."""
        return max(self.days, key=lambda each: each.kss, default=None)


def predicted(kept: Kept, asked: Asked, period: Span | None = None) -> Predicted:
    """Return the prediction for the period that has passed, or for another one."""
    span = period or asked.period
    reach = Span(span.start - WARM_UP - 2 * DAY, span.end)
    log = asked.log(kept.duties_touching(reach))
    reports = [Report(each.at, each.state, each.hours_slept) for each in kept.said if each.at <= asked.now]
    line = line_of(log, reports, span.start, span.end, STEP, asked.tz)
    return Predicted(line, tuple(_days(line, asked)))


def _days(line: Line, asked: Asked) -> list[SleepyDay]:
    edges, days = _edges(line, asked)
    found = []
    for day, start, end in zip(days, edges, [*edges[1:], len(line.at)], strict=True):
        hours = line.kss[start:end]
        if not np.isnan(hours).all():
            worst = start + int(np.nanargmax(hours))
            values = (float(values[worst]) for values in (line.kss, line.low, line.high))
            found.append(SleepyDay(day, line.at[worst], *values))
    return found


def _edges(line: Line, asked: Asked) -> tuple[list[int], list[date]]:
    """Return where each local day begins in the line."""
    edges, days = [0], [local_day(line.at[0], asked.tz)]
    first = line.at[0]
    while (start := day_span(days[-1] + timedelta(days=1), asked.tz).start) <= line.at[-1]:
        edges.append(-((first - start) // STEP))
        days.append(days[-1] + timedelta(days=1))
    return edges, days

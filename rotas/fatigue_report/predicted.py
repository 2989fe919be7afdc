"""Predicted sleepiness through the period, and the worst moment at work of each day.

A model of groups and not of this vet: an estimate, which clears nobody. Waking up is left to the line:
everybody is sleepy then, and it says nothing of the duty.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

import numpy as np
import numpy.typing as npt

from rotas.fatigue.clock import local_days
from rotas.fatigue.line import WARM_UP, Line, line_of
from rotas.fatigue_report.kept import Asked, Kept
from rotas.rest.intervals import DAY, Span, clip
from rotas.rest.log import DutyLog

CLOSE, FINE, COARSE = timedelta(days=35), timedelta(minutes=30), timedelta(hours=1)


@dataclass(frozen=True)
class SleepyDay:
    """The worst moment at work of one local day: Karolinska scale, 1 (very alert) to 9 (fighting sleep).

    `low` and `high` bound that moment by the published forms and the early and late assumptions.
    """

    day: date
    at: datetime
    kss: float
    low: float
    high: float


@dataclass(frozen=True)
class Predicted:
    """The line, half an hour a step up to five weeks and an hour beyond; and the days with work in them."""

    line: Line
    days: tuple[SleepyDay, ...]

    @property
    def worst(self) -> SleepyDay | None:
        """The day with the worst moment of all, the first of equals."""
        return max(self.days, key=lambda each: each.kss, default=None)


def predicted(kept: Kept, asked: Asked) -> Predicted:
    """Return the prediction for the period that has passed."""
    span = asked.period
    step = FINE if span.length <= CLOSE else COARSE
    log = asked.log(kept.duties_touching(Span(span.start - WARM_UP - 2 * DAY, span.end)))
    reports = [each for each in kept.said if each.at <= asked.now]
    line = line_of(log, reports, span.start, span.end, step, asked.tz)
    return Predicted(line, tuple(_days(line, _at_work(line, log, span, step), asked.tz)))


def _at_work(line: Line, log: DutyLog, span: Span, step: timedelta) -> npt.NDArray[np.float64]:
    """Return the line where it lies in working time, and nothing elsewhere."""
    work = np.zeros(len(line.at), dtype=bool)
    for worked in clip(log.counted, span):
        first, last = -((span.start - worked.start) // step), -((span.start - worked.end) // step)
        work[first:last] = True
    return np.where(work, line.kss, np.nan)


def _days(line: Line, at_work: npt.NDArray[np.float64], tz: tzinfo) -> Iterator[SleepyDay]:
    """Yield the worst moment of each local day that has one, the first of equals."""
    places = np.flatnonzero(~np.isnan(at_work))
    days, number = local_days(line.at, tz)
    # by day, the sleepiest first, and of equals the earliest: the first of each day is its worst moment
    order = places[np.lexsort((places, -at_work[places], number[places]))]
    _, first = np.unique(number[order], return_index=True)
    for place in order[first].tolist():
        kss, low, high = (float(values[place]) for values in (line.kss, line.low, line.high))
        yield SleepyDay(days[number[place]], line.at[place], kss, low, high)

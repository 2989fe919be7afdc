"""Predicted sleepiness over time, with its band: a line for each vet, fast enough for a year of thirty.

The line is the usual assumption in the form with waking up. The band spans the published forms and the
early and late assumptions. Nothing is predicted for time that is probably slept. A model of groups, not
of this vet: it clears nobody, and the risk of nights in a row stands beside it (rotas.fatigue.risk).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from rotas.fatigue.clock import HOUR, clock_hours, hours_from, moments
from rotas.fatigue.kss import OLDER, WITH_W, WITHOUT_W, forms, on_the_scale
from rotas.fatigue.sleep import Report, Waking, assumptions
from rotas.fatigue.tpm import Values
from rotas.fatigue.trace import Trace, run
from rotas.rest.intervals import Span
from rotas.rest.localtime import day_span, local_day
from rotas.rest.log import DutyLog

WARM_UP = timedelta(days=8)
"""How far before the line the model starts, so that its first value no longer matters (under 0.01)."""


class Point(NamedTuple):
    """One moment; None for what is not predicted, since the vet probably sleeps."""

    at: datetime
    asleep: bool
    kss: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Line:
    """The same as arrays of one value a moment, NaN where nothing is predicted. KSS, 1 to 9."""

    at: tuple[datetime, ...]
    asleep: npt.NDArray[np.bool_]
    kss: Values
    low: Values
    high: Values

    @property
    def points(self) -> tuple[Point, ...]:
        """The line point by point."""
        values = (_or_none(each, self.asleep) for each in (self.kss, self.low, self.high))
        return tuple(map(Point._make, zip(self.at, self.asleep.tolist(), *values, strict=True)))


def sleepiness(
    log: DutyLog,
    reports: Iterable[Report],
    start: datetime,
    end: datetime,
    step: timedelta = timedelta(hours=1),
    tz: tzinfo | None = None,
) -> tuple[Point, ...]:
    """Return the points of [start, end), a step apart. `tz` replaces the log's zone."""
    return line_of(log, reports, start, end, step, tz).points


def line_of(
    log: DutyLog,
    reports: Iterable[Report],
    start: datetime,
    end: datetime,
    step: timedelta = timedelta(hours=1),
    tz: tzinfo | None = None,
) -> Line:
    """Return the line of [start, end). `log` and `reports` should begin some days before the start."""
    period, zone = Span(start, end), tz or log.tz
    warm = warm_period(period.start, period.end, zone)
    waking = Waking(log, reports, warm, zone)
    at = moments(period.start, period.end - timedelta.resolution, step)
    hours = hours_from(warm.start, period.start) + np.arange(len(at), dtype=np.float64) * (step / HOUR)
    clock = clock_hours(period.start, len(at), step, zone)
    traces = [run(waking.slept(each), hours, clock) for each in assumptions().values()]
    return _line(at, traces)


def warm_period(start: datetime, end: datetime, tz: tzinfo) -> Span:
    """Return the period with the days before it that the model needs, from a local midnight."""
    return Span(day_span(local_day(start - WARM_UP, tz), tz).start, end)


def _line(at: tuple[datetime, ...], traces: list[Trace]) -> Line:
    usual = traces[0]
    asleep = ~usual.awake
    every = np.array([values for trace in traces for values in _in_all_forms(trace)])
    shown = forms()[WITH_W].of(usual.scuw)
    low = np.where(np.isnan(every), np.inf, every).min(0)
    high = np.where(np.isnan(every), -np.inf, every).max(0)
    return Line(at, asleep, *(np.where(asleep, np.nan, on_the_scale(each)) for each in (shown, low, high)))


def _in_all_forms(trace: Trace) -> Iterator[Values]:
    """Yield the sleepiness in each form, NaN asleep."""
    for name, alertness in ((WITH_W, trace.scuw), (WITHOUT_W, trace.scu), (OLDER, trace.scu)):
        yield np.where(trace.awake, forms()[name].of(alertness), np.nan)


def _or_none(values: Values, asleep: npt.NDArray[np.bool_]) -> list[float | None]:
    return [None if out else value for value, out in zip(values.tolist(), asleep.tolist(), strict=True)]


__all__ = ["Line", "Point", "Report", "line_of", "sleepiness"]

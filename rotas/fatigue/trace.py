"""The model run over a series of sleeps: S, C, U and W at any moments."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from rotas.fatigue.clock import HOUR, clock_hours, hours_from, moments
from rotas.fatigue.kss import WITH_W, forms
from rotas.fatigue.tpm import Parameters, Values, c_at, published, s_asleep, s_awake, u_at, w_after
from rotas.rest.intervals import Span, clip, merge

Sleeps = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Trace:
    """One value a moment in every array. At a change the new state holds, zero hours old."""

    awake: npt.NDArray[np.bool_]
    in_state: Values
    s: Values
    c: Values
    u: Values
    w: Values

    @property
    def scu(self) -> Values:
        """Alertness without waking up."""
        return self.s + self.c + self.u

    @property
    def scuw(self) -> Values:
        """Alertness with it."""
        return self.scu + self.w


class TracePoint(NamedTuple):
    """One moment; `alertness` is S + C + U, `kss` the form with W, which means nothing asleep."""

    at: datetime
    awake: bool
    s: float
    c: float
    u: float
    w: float
    alertness: float
    kss: float


def run(
    sleeps: Sleeps, at: Values, clock: Values, p: Parameters | None = None, *, as_published: bool = False
) -> Trace:
    """Return the trace at `at`, hours from the start of the series, with the local clock's hour of each.

    `sleeps` in the same hours: in order, apart from each other, none before 0. S is S0 at the start.
    """
    p = p or published()
    edges = np.array([0.0, *(edge for sleep in sleeps for edge in sleep)])
    levels = np.array(list(_levels(sleeps, p, as_published)))
    state = np.searchsorted(edges, at, side="right") - 1
    awake, hours, level = state % 2 == 0, at - edges[state], levels[state]
    s = np.where(awake, s_awake(level, hours, p), s_asleep(level, hours, p, as_published=as_published))
    return Trace(awake, hours, s, c_at(clock, p), u_at(clock, p), np.where(awake, w_after(hours, p), 0.0))


def _levels(sleeps: Sleeps, p: Parameters, as_published: bool) -> Iterator[float]:
    """Yield S at the start and at every falling asleep and waking."""
    level, since = p.S0, 0.0
    yield level
    for start, end in sleeps:
        level = s_awake(level, start - since, p)
        yield level
        level = s_asleep(level, end - start, p, as_published=as_published)
        yield level
        since = end


def traced(
    sleeps: Iterable[Span],
    start: datetime,
    end: datetime,
    step: timedelta = timedelta(minutes=15),
    *,
    tz: tzinfo,
) -> tuple[TracePoint, ...]:
    """Return the model from start to end, both included: awake where nothing is slept, S0 at the start."""
    period = Span(start, end)
    inside = clip(merge(sleeps), period)
    slept = [(hours_from(period.start, one.start), hours_from(period.start, one.end)) for one in inside]
    at = moments(period.start, period.end, step)
    hours = np.arange(len(at), dtype=np.float64) * (step / HOUR)
    trace = run(slept, hours, clock_hours(period.start, len(at), step, tz))
    columns = (trace.awake, trace.s, trace.c, trace.u, trace.w, trace.scu, forms()[WITH_W].of(trace.scuw))
    return tuple(map(TracePoint._make, zip(at, *(each.tolist() for each in columns), strict=True)))

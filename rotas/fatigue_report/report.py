"""The whole report, put together once: pages, API and files only show it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from rotas.fatigue_report.chart import CLOSE_UP, Chart, Tick, chart, ticks
from rotas.fatigue_report.fairness import Fairness, Place, fairness
from rotas.fatigue_report.kept import Asked, Kept
from rotas.fatigue_report.next_week import Ahead, ahead
from rotas.fatigue_report.predicted import Predicted, predicted
from rotas.fatigue_report.row import Judgement, Row, row
from rotas.fatigue_report.trend import Month, trend
from rotas.rest.intervals import Span
from rotas.rest.localtime import day_span, local_day
from rotas.rest.report import LOOK_BACK
from rotas.rest.rules import REFERENCE

YEAR = timedelta(days=365)


@dataclass(frozen=True)
class Scope:
    """Which days are reported and counted, all included: the period, and what fairness and trend look at."""

    asked: Asked
    place: Place
    fair_first: date

    @property
    def last(self) -> date:
        """The last local day that has begun."""
        return local_day(self.asked.until - timedelta(microseconds=1), self.asked.tz)

    @property
    def first(self) -> date:
        """The first local day of the period."""
        return local_day(self.asked.start, self.asked.tz)

    @property
    def known_from(self) -> date:
        """The day from which duties must be known."""
        tz = self.asked.tz
        back = min(self.asked.start, self.asked.until - LOOK_BACK) - REFERENCE
        return min(local_day(back, tz), self.trend_first, self.fair_first) - timedelta(days=1)

    @property
    def trend_first(self) -> date:
        """The first day of the month a year before the last."""
        return min(self.first, self.last - YEAR).replace(day=1)


@dataclass(frozen=True)
class Report:
    """Everything that is shown, the vets in the order of their codes."""

    scope: Scope
    everyone: tuple[Kept, ...]
    judged: tuple[Judgement, ...]
    rows: tuple[Row, ...]

    @property
    def asked(self) -> Asked:
        """The period, and how rest is judged."""
        return self.scope.asked

    @cached_property
    def fairness(self) -> Fairness:
        """The fairness counts, over everyone in the practice whoever is shown."""
        return fairness(self.everyone, self.asked, self.scope.place, self.scope.fair_first, self.scope.last)

    @cached_property
    def months(self) -> tuple[Month, ...]:
        """The trend, of the vets that are shown."""
        return trend(self.judged, self.scope.trend_first, self.scope.last)

    @cached_property
    def ahead(self) -> tuple[Ahead, ...]:
        """The coming week, of the vets that are shown."""
        return tuple(ahead(judged.kept, self.asked) for judged in self.judged)

    @cached_property
    def predicted(self) -> Mapping[int, Predicted]:
        """The predicted sleepiness, by the vet's key."""
        return {judged.kept.person.key: predicted(judged.kept, self.asked) for judged in self.judged}

    @cached_property
    def charts(self) -> Mapping[int, Chart]:
        """The charts, by the vet's key."""
        return {
            judged.kept.person.key: chart(
                judged.kept, row, self.asked, self.predicted[judged.kept.person.key]
            )
            for judged, row in zip(self.judged, self.rows, strict=True)
        }

    @property
    def long(self) -> bool:
        """Say whether the charts go by days."""
        return self.asked.end - self.asked.start > CLOSE_UP

    @cached_property
    def ticks(self) -> tuple[Tick, ...]:
        """The days of the time axis."""
        return ticks(self.asked)


def report_on(everyone: tuple[Kept, ...], scope: Scope, only: int | None = None) -> Report:
    """Return the report on everyone, or on the vet with the key `only`; fairness is of all in any case."""
    known = Span(day_span(scope.known_from, scope.asked.tz).start, scope.asked.until)
    shown = sorted(
        (kept for kept in everyone if only in (None, kept.person.key)),
        key=lambda kept: (len(kept.person.code), kept.person.code),
    )
    judged = tuple(Judgement(kept, scope.asked, known) for kept in shown)
    return Report(scope, everyone, judged, tuple(row(each) for each in judged))

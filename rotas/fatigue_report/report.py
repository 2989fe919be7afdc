"""The manager's fatigue report: hours, call-outs and rest against the rule set, as facts per vet.

It shows hours, not worth, and is for staffing. No score, no order by anything but the vet's code.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from django.db.models import Sum
from psycopg.types.range import TimestamptzRange

from rotas.models import DutyRecord, Practice, RestException, RestOwed, Vet
from rotas.rest.breaches import Breach, breaches
from rotas.rest.intervals import Span
from rotas.rest.report import PeriodFacts, VetState, period_facts, vet_state
from rotas.rest.rules import Reading, RuleSet
from rotas.services.worked import Duties, duties_of, rules_of

LOOK_BACK = timedelta(days=28)  # the numbers of the last four weeks are shown whatever the period
ZERO = timedelta(0)
Row = TypeVar("Row", RestException, RestOwed)


@dataclass(frozen=True)
class OwedRest:
    """Rest that a vet has still to be given."""

    amount: timedelta
    because: str
    due_by: datetime
    overdue: bool


@dataclass(frozen=True)
class FatigueRow:
    """One vet over the period [start, end), and at its end (or now, where the end is to come).

    `breaches` are those of the period, each with its sentence; `exceptions` were signed in it.
    `drive_km` is what was driven as far as it is on record.
    """

    vet: Vet
    facts: PeriodFacts
    state: VetState
    breaches: tuple[Breach, ...]
    exceptions: tuple[RestException, ...]
    owed: tuple[OwedRest, ...]
    drive_km: float

    @property
    def owed_amount(self) -> timedelta:
        """All the rest still owed together."""
        return sum((item.amount for item in self.owed), ZERO)


@dataclass(frozen=True)
class FatigueReport:
    """The rows by the vets' codes, with the rule set that they are read against."""

    practice: Practice
    start: datetime
    end: datetime
    rule_set: RuleSet
    reading: Reading
    rows: tuple[FatigueRow, ...]


def report(practice: Practice, start: datetime, end: datetime, now: datetime) -> FatigueReport:
    """Return the report on [start, end), as far as it has passed at `now`."""
    vets = list(Vet.objects.for_practice(practice).filter(active=True).select_related("member", "practice"))
    vets.sort(key=lambda vet: (len(vet.code), vet.code))
    rule_set = rules_of(practice)
    reading = Reading(practice.daily_rest_reading)
    until = max(min(end, now), start + timedelta(minutes=1))
    kept = _Kept.read(vets, min(start, until - LOOK_BACK), start, until)
    past = _Past(practice, start, until, now, rule_set, reading, kept)
    return FatigueReport(practice, start, end, rule_set, reading, tuple(past.row(vet) for vet in vets))


@dataclass(frozen=True)
class _Kept:
    """What is on record of every vet, by key, in a fixed number of queries."""

    duties: dict[int, Duties]
    exceptions: dict[int, list[RestException]]
    owed: dict[int, list[RestOwed]]
    driven: dict[int, float]

    @classmethod
    def read(cls, vets: list[Vet], known_from: datetime, start: datetime, until: datetime) -> "_Kept":
        """Read the duties since `known_from`, and the rest of the period."""
        signed = RestException.objects.filter(vet__in=vets, approved_at__gte=start, approved_at__lt=until)
        owed = RestOwed.objects.filter(vet__in=vets, taken_at__isnull=True, owed_from__lt=until)
        driven = DutyRecord.objects.filter(
            vet__in=vets, period__overlap=TimestamptzRange(start, until), drive_km__isnull=False
        )
        return cls(
            duties_of(vets, known_from, until),
            _by_vet(signed.select_related("approved_by").order_by("approved_at")),
            _by_vet(owed.order_by("due_by")),
            {row["vet"]: float(row["km"]) for row in driven.values("vet").annotate(km=Sum("drive_km"))},
        )


def _by_vet(rows: Iterable[Row]) -> dict[int, list[Row]]:
    found: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        found[row.vet_id].append(row)
    return found


@dataclass(frozen=True)
class _Past:
    """What every row of one report shares."""

    practice: Practice
    start: datetime
    until: datetime
    now: datetime
    rule_set: RuleSet
    reading: Reading
    kept: _Kept

    def row(self, vet: Vet) -> FatigueRow:
        duties = self.kept.duties[vet.pk]
        owed = tuple(self._owed(vet))
        full = self.rule_set.standby_in_full
        period = Span(self.start, self.until)
        return FatigueRow(
            vet=vet,
            facts=period_facts(duties, self.practice.tz, period, standby_in_full=full),
            state=vet_state(
                duties,
                self.practice.tz,
                now=self.until,
                owed=sum((item.amount for item in owed), ZERO),
                self_report=self._said(vet),
                standby_in_full=full,
            ),
            breaches=self._breaches(duties),
            exceptions=tuple(self.kept.exceptions[vet.pk]),
            owed=owed,
            drive_km=self.kept.driven.get(vet.pk, 0.0),
        )

    def _said(self, vet: Vet) -> str:
        """Return what the vet last said, if it was said in the last day of the period."""
        at = vet.self_reported_at
        return vet.self_report if at and self.until - timedelta(days=1) <= at <= self.until else ""

    def _breaches(self, duties: Duties) -> tuple[Breach, ...]:
        known = Span(min(self.start, self.until - LOOK_BACK), self.until)
        found = breaches(duties, self.rule_set, self.practice.tz, self.reading, known=known)
        return tuple(breach for breach in found if self.start <= breach.moment < self.until)

    def _owed(self, vet: Vet) -> Iterable[OwedRest]:
        for row in self.kept.owed[vet.pk]:
            yield OwedRest(timedelta(minutes=row.minutes), row.because, row.due_by, row.due_by <= self.now)

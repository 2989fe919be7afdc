"""From the database to what the report is made of, in as many queries for thirty vets as for one."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.db.models import BigIntegerField, Func
from psycopg.types.range import TimestamptzRange

from rotas.fatigue.sleep import Report
from rotas.fatigue_report.fairness import Place
from rotas.fatigue_report.kept import (
    Asked,
    Kept,
    Looked,
    Note,
    OwedRest,
    Person,
    Rostered,
    Signed,
    Worked,
)
from rotas.fatigue_report.next_week import AHEAD
from rotas.fatigue_report.report import Report as WholeReport
from rotas.fatigue_report.report import Scope, report_on
from rotas.models import (
    DutyRecord,
    Leave,
    Practice,
    ReportNote,
    ReportSeen,
    RestException,
    RestOwed,
    Shift,
    Vet,
)
from rotas.rest.intervals import DutyKind, Span
from rotas.rest.localtime import day_span
from rotas.rest.rules import Reading
from rotas.services.tiredness import reports_of
from rotas.services.worked import counts_as, rules_of

A_YEAR_BACK = timedelta(days=364)
SINCE = datetime(1970, 1, 1, tzinfo=UTC)


class Microseconds(Func):
    """An end of a range as a whole number since 1970: a tenth of the time that a text of it takes to read."""

    template = "(EXTRACT(EPOCH FROM %(function)s(%(expressions)s)) * 1000000)::bigint"
    output_field = BigIntegerField()


ENDS = (Microseconds("period", function="lower"), Microseconds("period", function="upper"))
ByVet = dict[int, list[Any]]


def report(
    practice: Practice,
    start: datetime,
    end: datetime,
    now: datetime,
    *,
    only: int | None = None,
    fair_first: date | None = None,
) -> WholeReport:
    """Return the report on [start, end) as far as it has passed at `now`.

    `only` is the key of one vet, for a report on nobody else; `fair_first` the day that fairness counts
    from, a year before the last unless said.
    """
    asked = Asked(start, end, now, practice.tz, rules_of(practice), Reading(practice.daily_rest_reading))
    place = Place(practice.country, practice.country_part or None)
    last = Scope(asked, place, asked.start.date()).last
    scope = Scope(asked, place, fair_first or last - A_YEAR_BACK)
    return report_on(read(practice, scope), scope, only)


def read(practice: Practice, scope: Scope) -> tuple[Kept, ...]:
    """Return everything on record of every vet who is active, in no order."""
    tz = practice.tz
    window = Span(day_span(scope.known_from, tz).start, max(scope.asked.until, scope.asked.now) + AHEAD)
    vets = list(Vet.objects.for_practice(practice).filter(active=True).select_related("member"))
    parts = [_grouped(rows) for rows in _all(vets, window)]
    return tuple(_kept(vet, *(part[vet.pk] for part in parts)) for vet in vets)


def _kept(vet: Vet, *parts: list[Any]) -> Kept:
    rostered, worked, signed, owed, leave, said, looked, notes = parts
    return Kept(
        person=Person(
            vet.pk, vet.code, vet.name, float(vet.contract_share), vet.started_on, frozenset(vet.rota_roles)
        ),
        rostered=tuple(rostered),
        worked=tuple(worked),
        signed=tuple(signed),
        owed=tuple(owed),
        leave=frozenset(leave),
        said=tuple(said),
        looked=looked[-1] if looked else None,
        notes=tuple(notes),
    )


def _grouped(rows: Iterable[tuple[int, Any]]) -> ByVet:
    found: ByVet = defaultdict(list)
    for key, value in rows:
        found[key].append(value)
    return found


def _all(vets: list[Vet], window: Span) -> Iterator[Iterator[tuple[int, Any]]]:
    """Yield pairs of a vet's key and one thing on record, one stream for each kind of it."""
    keys = [vet.pk for vet in vets]
    yield _rostered(keys, window)
    yield _worked(keys, window)
    yield _signed(keys, window)
    yield _owed(keys, window)
    yield _leave(keys, window)
    yield _said(vets, window)
    yield _looked(keys)
    yield _notes(keys, window)


def _rostered(keys: list[int], window: Span) -> Iterator[tuple[int, Rostered]]:
    rows = Shift.objects.within(window.start, window.end).filter(vet__in=keys).order_by("period")
    for key, role, at_workplace, *ends in rows.values_list("vet_id", "role", "at_workplace", *ENDS):
        yield key, Rostered(role, _span(*ends), counts_as(role, at_workplace))


def _worked(keys: list[int], window: Span) -> Iterator[tuple[int, Worked]]:
    period = TimestamptzRange(window.start, window.end)
    rows = DutyRecord.objects.filter(vet__in=keys, period__overlap=period).order_by("period")
    for key, kind, km, *ends in rows.values_list("vet_id", "kind", "drive_km", *ENDS):
        driven = None if km is None else float(km)
        yield key, Worked(DutyKind(kind), _span(*ends), driven)


def _span(start: int, end: int) -> Span:
    """Return the stretch between two numbers of microseconds since 1970."""
    return Span(SINCE + timedelta(microseconds=start), SINCE + timedelta(microseconds=end))


def _signed(keys: list[int], window: Span) -> Iterator[tuple[int, Signed]]:
    rows = RestException.objects.filter(vet__in=keys, approved_at__gte=window.start).order_by("approved_at")
    for row in rows.select_related("approved_by"):
        by = row.approved_by.name
        yield row.vet_id, Signed(row.approved_at, row.rule, row.passed_by_min, by, row.reason, row.subject)


def _owed(keys: list[int], window: Span) -> Iterator[tuple[int, OwedRest]]:
    """Yield what came up or was given in the time, and whatever is still owed from before it."""
    rows = RestOwed.objects.filter(vet__in=keys)
    lately = rows.filter(owed_from__gte=window.start) | rows.filter(taken_at__gte=window.start)
    for row in (lately | rows.filter(taken_at=None)).order_by("due_by", "pk"):
        amount = timedelta(minutes=row.minutes)
        yield (
            row.vet_id,
            OwedRest(row.pk, amount, row.because, row.owed_from, row.due_by, row.taken_at),
        )


def _leave(keys: list[int], window: Span) -> Iterator[tuple[int, date]]:
    rows = Leave.objects.approved().filter(vet__in=keys).touching(window.start.date(), window.end.date())
    for key, first, last in rows.values_list("vet_id", "first_day", "last_day"):
        for number in range((last - first).days + 1):
            yield key, first + timedelta(days=number)


def _said(vets: list[Vet], window: Span) -> Iterator[tuple[int, Report]]:
    """Yield what each vet said of themselves and of their sleep."""
    for key, reports in reports_of(vets, window.start, window.end).items():
        for each in reports:
            yield key, each


def _looked(keys: list[int]) -> Iterator[tuple[int, Looked]]:
    rows = ReportSeen.objects.filter(vet__in=keys).order_by("vet_id", "-seen_at").distinct("vet_id")
    for row in rows:
        yield row.vet_id, Looked(row.seen_at, row.first_day, row.last_day, row.says)


def _notes(keys: list[int], window: Span) -> Iterator[tuple[int, Note]]:
    rows = ReportNote.objects.filter(vet__in=keys, week__gte=window.start.date()).order_by("written_at")
    for row in rows.select_related("written_by"):
        yield row.vet_id, Note(row.week, row.text, row.written_by.name, row.written_at)

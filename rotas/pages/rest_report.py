"""The manager's rest report: raw hours first, words beside every mark, nobody ranked."""

import csv
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from rotas.errors import BadInput
from rotas.fatigue_report.report import FatigueReport, FatigueRow, report
from rotas.models import DutyRecord, Practice, RestOwed, Role, Shift, ShiftRole
from rotas.pages.fields import chosen_day
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.rest.marks import Level
from rotas.services.rest import take_owed_rest

USUAL_DAYS = 14
LONGEST_DAYS = 92
WORDS = {Level.GREEN: "within every mark", Level.AMBER: "watch", Level.RED: "over a mark"}
BROKEN = "within the marks, but rest was broken"


@dataclass(frozen=True)
class Stretch:
    """A stretch of one vet's lane; shares are percent of the period."""

    kind: str
    share: float
    width: float


@dataclass(frozen=True)
class Line:
    """One vet on the page: the row of figures, its words, and the lane on the common time axis."""

    row: FatigueRow
    level: str
    stretches: tuple[Stretch, ...]
    marks: tuple[float, ...]


@dataclass(frozen=True)
class Day:
    """A tick of the time axis."""

    day: date
    share: float
    named: bool


@member_page(Role.MANAGER)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show the report on the period asked for, a fortnight unless something else is said."""
    now, practice = timezone.now(), request.user.practice
    first, last = _period(request, now)
    made = report(practice, *_instants(practice, first, last), now)
    shown: dict[str, Any] = {
        "report": made,
        "first": first,
        "last": last,
        "lines": _lines(made),
        "days": _days(practice, first, last),
        "owed": RestOwed.objects.for_practice(practice).filter(taken_at=None).select_related("vet__member"),
        "now": now,
    }
    return render(request, "rotas/rest_report.html", shown)


@member_page(Role.MANAGER)
@require_GET
def as_csv(request: HttpRequest) -> HttpResponse:
    """Return the figures as a table for a spreadsheet; times are hours."""
    now, practice = timezone.now(), request.user.practice
    first, last = _period(request, now)
    made = report(practice, *_instants(practice, first, last), now)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="rest-{first:%Y%m%d}-{last:%Y%m%d}.csv"'
    table = csv.writer(response)
    table.writerow(
        [
            "vet",
            "worked_h",
            "standby_h",
            "call_outs",
            "phone_calls",
            "disturbed_nights",
            "nights_running",
            "longest_rest_h",
            "breaches",
            "exceptions",
            "rest_owed_h",
            "drive_km",
            "words",
        ]
    )
    for row in made.rows:
        table.writerow(_cells(row))
    return response


def _cells(row: FatigueRow) -> list[Any]:
    facts = row.facts
    return [
        _plain(row.vet.name),
        _hours(facts.worked),
        _hours(facts.standby),
        facts.call_outs,
        facts.phone_calls,
        len(facts.disturbed_nights),
        facts.longest_nights_running,
        _hours(facts.longest_rest),
        len(row.breaches),
        len(row.exceptions),
        _hours(row.owed_amount),
        row.drive_km,
        _words(row),
    ]


def _words(row: FatigueRow) -> str:
    """Return the row in words, which never call somebody well whose rest was broken."""
    return BROKEN if row.breaches and row.state.level == Level.GREEN else WORDS[row.state.level]


def _plain(text: str) -> str:
    """Return the text so that a spreadsheet does not take it for a formula."""
    return f"'{text}" if text[:1] in "=+-@\t\r" else text


def _hours(span: timedelta) -> float:
    return round(span.total_seconds() / 3600, 2)


def _period(request: HttpRequest, now: datetime) -> tuple[date, date]:
    """Return the first and the last local day asked for."""
    last = chosen_day(request.GET, "to", otherwise=request.user.practice.local(now).date())
    first = chosen_day(request.GET, "from", otherwise=last - timedelta(days=USUAL_DAYS - 1))
    if not first <= last < first + timedelta(days=LONGEST_DAYS):
        raise BadInput(
            field="from", problem=f"choose a first day before the last, at most {LONGEST_DAYS} days."
        )
    return first, last


def _instants(practice: Practice, first: date, last: date) -> tuple[datetime, datetime]:
    start = datetime.combine(first, time(0), tzinfo=practice.tz)
    return start, datetime.combine(last + timedelta(days=1), time(0), tzinfo=practice.tz)


def _days(practice: Practice, first: date, last: date) -> list[Day]:
    start, end = _instants(practice, first, last)
    days = [first + timedelta(days=back) for back in range((last - first).days + 1)]
    step = max(1, len(days) // 7)
    return [
        Day(day, _share(datetime.combine(day, time(0), tzinfo=practice.tz), start, end), at % step == 0)
        for at, day in enumerate(days)
    ]


def _share(at: datetime, start: datetime, end: datetime) -> float:
    return round(100 * min(1.0, max(0.0, (at - start) / (end - start))), 3)


def _lines(made: FatigueReport) -> list[Line]:
    shifts = Shift.objects.for_practice(made.practice).within(made.start, made.end)
    worked = DutyRecord.objects.for_practice(made.practice).filter(period__overlap=(made.start, made.end))
    by_vet: dict[int, list[Stretch]] = {row.vet.pk: [] for row in made.rows}
    for shift in shifts:
        kind = "day" if shift.role == ShiftRole.DAY else "on-call"
        by_vet.setdefault(shift.vet_id, []).append(_stretch(kind, shift.period, made))
    for record in worked:
        by_vet.setdefault(record.vet_id, []).append(_stretch("worked", record.period, made))
    return [
        Line(
            row,
            _words(row),
            tuple(by_vet[row.vet.pk]),
            tuple(_share(breach.moment, made.start, made.end) for breach in row.breaches),
        )
        for row in made.rows
    ]


def _stretch(kind: str, period: Any, made: FatigueReport) -> Stretch:
    share = _share(period.lower, made.start, made.end)
    width = _share(period.upper, made.start, made.end) - share
    return Stretch(kind, share, round(max(width, 0.15), 3))


@member_page(Role.MANAGER)
@require_POST
def taken(request: HttpRequest, owed_id: int) -> HttpResponse:
    """Write that rest which was owed has been given."""
    now = timezone.now()
    return done_once(request, now, lambda: _taken(request, owed_id, now))


def _taken(request: HttpRequest, owed_id: int, now: datetime) -> tuple[str, str]:
    owed = take_owed_rest(owed_id=owed_id, actor=request.user, now=now)
    return f"Written down: {owed.vet.name} has had the rest.", "/rest/"

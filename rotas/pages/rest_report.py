"""The shift-fatigue report: raw hours first, words beside every mark, nobody ranked."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from rotas.access import vet_in, vet_of
from rotas.errors import BadInput
from rotas.fatigue.sleep import assumption_words
from rotas.fatigue_report import as_csv as csv_file
from rotas.fatigue_report import as_pdf as pdf_file
from rotas.fatigue_report import as_xlsx as xlsx_file
from rotas.fatigue_report import tables, wording
from rotas.fatigue_report.report import Report
from rotas.models import Role, Vet
from rotas.pages.fields import chosen_day, row_key, text
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.pages.report_chart import lines
from rotas.rest.localtime import day_span
from rotas.services.fatigue_report import report
from rotas.services.reports import say_seen, write_note
from rotas.services.rest import take_owed_rest

USUAL_DAYS = 14
LONGEST_DAYS = 366
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True)
class Wanted:
    """What the address asks for: the days, both included, one vet or all, and since when fairness counts."""

    first: date
    last: date
    only: int | None
    fair: date | None

    @property
    def address(self) -> str:
        """The same question as the end of an address."""
        vet = f"&vet={self.only}" if self.only else ""
        fair = f"&fair={self.fair}" if self.fair else ""
        return f"?from={self.first}&to={self.last}{vet}{fair}"


@member_page(Role.MANAGER)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show the report on the period asked for, a fortnight unless something else is said."""
    return render(request, "rotas/rest_report.html", _managers(request, *_made(request)))


def _managers(request: HttpRequest, wanted: Wanted, made: Report) -> dict[str, Any]:
    vets = Vet.objects.for_practice(request.user.practice).filter(active=True).select_related("member")
    return _shown(wanted, made) | {"vets": sorted(vets, key=lambda vet: (len(vet.code), vet.code))}


@member_page(Role.VET)
@require_GET
def own(request: HttpRequest) -> HttpResponse:
    """Show a vet what the manager sees of them."""
    return render(request, "rotas/my_report.html", _shown(*_made(request, only=vet_of(request.user).pk)))


def _shown(wanted: Wanted, made: Report) -> dict[str, Any]:
    return {
        "report": made,
        "wanted": wanted,
        "first_day": f"{wanted.first}",
        "last_day": f"{wanted.last}",
        "fair_first": made.fairness.first,
        "lines": lines(made),
        "hours": tables.hours_table(made),
        "rest": tables.rest_table(made),
        "weeks": tables.weeks_table(made),
        "fairness": tables.fairness_table(made),
        "spread": tables.spread_table(made),
        "trend": tables.trend_table(made),
        "owed": [(row.person, each, each.overdue(made.asked.now)) for row in made.rows for each in row.owed],
        "raised": [each for each in made.ahead if each.reasons],
        "caution": wording.CAUTION,
        "model": wording.MODEL,
        "legend": wording.LEGEND_BY_DAY if made.long else wording.LEGEND,
        "assumptions": assumption_words(),
        "now": made.asked.now,
    }


@member_page(Role.MANAGER)
@require_GET
def as_csv(request: HttpRequest) -> HttpResponse:
    """Return one table of the report for a spreadsheet; lengths of time are hours."""
    wanted, made = _made(request)
    part = text(request.GET, "table") or "hours"
    found = next((each for each in tables.TABLES if each.__name__ == f"{part}_table"), None)
    if found is None:
        known = ", ".join(each.__name__.removesuffix("_table") for each in tables.TABLES)
        raise BadInput(field="table", problem=f"choose one of {known}.")
    body = csv_file.written(found(made), made.asked.tz)
    return _file(body, "text/csv; charset=utf-8", f"{part}-{_days(wanted)}.csv")


@member_page(Role.MANAGER)
@require_GET
def as_xlsx(request: HttpRequest) -> HttpResponse:
    """Return every table as a workbook."""
    wanted, made = _made(request)
    return _file(xlsx_file.written(tables.tables(made), made.asked.tz), XLSX, f"rest-{_days(wanted)}.xlsx")


@member_page(Role.MANAGER)
@require_GET
def as_pdf(request: HttpRequest) -> HttpResponse:
    """Return the report on paper."""
    return _pdf(request, *_made(request))


@member_page(Role.VET)
@require_GET
def own_pdf(request: HttpRequest) -> HttpResponse:
    """Return a vet's own report on paper."""
    return _pdf(request, *_made(request, only=vet_of(request.user).pk))


def _pdf(request: HttpRequest, wanted: Wanted, made: Report) -> HttpResponse:
    body = pdf_file.written(made, request.user.practice.name)
    return _file(body, "application/pdf", f"rest-{_days(wanted)}.pdf")


def _file(body: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(body, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _days(wanted: Wanted) -> str:
    return f"{wanted.first:%Y%m%d}-{wanted.last:%Y%m%d}"


def _made(request: HttpRequest, only: int | None = None) -> tuple[Wanted, Report]:
    """Return what is asked for and the report on it."""
    now, practice = timezone.now(), request.user.practice
    wanted = _wanted(request, now, only)
    start, end = day_span(wanted.first, practice.tz).start, day_span(wanted.last, practice.tz).end
    return wanted, report(practice, start, end, now, only=wanted.only, fair_first=wanted.fair)


def _wanted(request: HttpRequest, now: datetime, only: int | None) -> Wanted:
    """Read the days, the vet and the day that fairness counts from."""
    asked, practice = request.GET, request.user.practice
    last = chosen_day(asked, "to", otherwise=practice.local(now).date())
    first = chosen_day(asked, "from", otherwise=last - timedelta(days=USUAL_DAYS - 1))
    if not first <= last < first + timedelta(days=LONGEST_DAYS):
        raise BadInput(
            field="from", problem=f"choose a first day before the last, at most {LONGEST_DAYS} days."
        )
    fair = chosen_day(asked, "fair", otherwise=first) if asked.get("fair") else None
    if fair is not None and not last - timedelta(days=3 * LONGEST_DAYS) <= fair <= last:
        raise BadInput(field="fair", problem="choose a day before the last, at most three years back.")
    vet = only or row_key(asked, "vet")
    return Wanted(first, last, vet_in(practice, vet).pk if vet else None, fair)


@member_page(Role.MANAGER)
@require_POST
def taken(request: HttpRequest, owed_id: int) -> HttpResponse:
    """Write that rest which was owed has been given."""
    now = timezone.now()

    def do() -> tuple[str, str]:
        owed = take_owed_rest(owed_id=owed_id, actor=request.user, now=now)
        return f"Written down: {owed.vet.name} has had the rest.", "/rest/"

    return done_once(request, now, do)


@member_page(Role.MANAGER)
@require_POST
def note(request: HttpRequest, vet_id: int) -> HttpResponse:
    """Write what will change after a week."""
    now = timezone.now()
    try:
        return done_once(request, now, lambda: _note(request, vet_id, now))
    except BadInput as error:
        typed = {"error": error, "typed": request.POST, "at": vet_id}
        page = _managers(request, *_made(request)) | typed
        return render(request, "rotas/rest_report.html", page, status=error.status)


def _note(request: HttpRequest, vet_id: int, now: datetime) -> tuple[str, str]:
    practice, form = request.user.practice, request.POST
    week = chosen_day(form, "week", otherwise=practice.local(now).date())
    said = text(form, "text")
    written = write_note(vet=vet_in(practice, vet_id), week=week, text=said, actor=request.user, now=now)
    return f"Written down for {written.vet.name}, who sees it too.", "/rest/"


@member_page(Role.VET)
@require_POST
def seen(request: HttpRequest) -> HttpResponse:
    """Write that the vet has looked at their own report, and what they say to it."""
    now = timezone.now()
    try:
        return done_once(request, now, lambda: _seen(request, now))
    except BadInput as error:
        page = _shown(*_made(request, only=vet_of(request.user).pk)) | {"error": error, "typed": request.POST}
        return render(request, "rotas/my_report.html", page, status=error.status)


def _seen(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    last = chosen_day(form, "last", otherwise=request.user.practice.local(now).date())
    first = chosen_day(form, "first", otherwise=last)
    say_seen(first=first, last=last, says=text(form, "says"), actor=request.user, now=now)
    return "Thank you. The manager sees that you have seen it, and what you said.", "/mine/report/"

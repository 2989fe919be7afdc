"""A farm's medicine record and its treated list: on a screen, on paper, in a spreadsheet."""

import json
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from cases.access import location_in
from cases.models import Location
from cases.records import as_csv
from cases.records.line import MedicineLine
from cases.services.exchange import whole_farm
from cases.services.medicine_record import record_lines, treated_now
from rotas.errors import BadInput
from rotas.models import Role
from rotas.pages.fields import chosen_day
from rotas.pages.member import member_page
from rotas.rest.localtime import day_span

USUAL = timedelta(days=365)
LONGEST = timedelta(days=5 * 366)  # as long as a keeper keeps them [S56, S59]
CSV = "text/csv; charset=utf-8"


@dataclass(frozen=True)
class Days:
    """The days asked for, both included."""

    first: date
    last: date

    @property
    def address(self) -> str:
        """The same question as the end of an address."""
        return f"?from={self.first}&to={self.last}"


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def medicines(request: HttpRequest, location_id: int) -> HttpResponse:
    """Show what was given on the farm in the days asked for: the last year unless said."""
    location, days, lines = _asked(request, location_id)
    page = {"location": location, "days": days, "lines": lines, "now": timezone.now()}
    return render(request, "cases/medicine_record.html", page)


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def medicines_csv(request: HttpRequest, location_id: int) -> HttpResponse:
    """Return the same lines for a spreadsheet."""
    location, days, lines = _asked(request, location_id)
    name = f"medicines-{location.pk}-{days.first:%Y%m%d}-{days.last:%Y%m%d}.csv"
    return _file(as_csv.record(lines, location.practice.tz), name)


def _asked(request: HttpRequest, location_id: int) -> tuple[Location, Days, tuple[MedicineLine, ...]]:
    location = location_in(request.user.practice, location_id)
    practice = location.practice
    today = practice.local(timezone.now()).date()
    last = chosen_day(request.GET, "to", otherwise=today)
    first = chosen_day(request.GET, "from", otherwise=last - USUAL)
    if first > last:
        raise BadInput(field="to", problem="the last day comes after the first.")
    if last - first > LONGEST:
        raise BadInput(field="from", problem="ask for five years at most.")
    lines = record_lines(location, day_span(first, practice.tz).start, day_span(last, practice.tz).end)
    return location, Days(first, last), lines


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def treated(request: HttpRequest, location_id: int) -> HttpResponse:
    """Show whose milk, meat and eggs are held now: the sheet for the parlour wall."""
    location = location_in(request.user.practice, location_id)
    now = timezone.now()
    page: dict[str, Any] = {"location": location, "rows": treated_now(location, now), "now": now}
    return render(request, "cases/treated.html", page)


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def treated_csv(request: HttpRequest, location_id: int) -> HttpResponse:
    """Return the treated list for a spreadsheet."""
    location = location_in(request.user.practice, location_id)
    return _file(
        as_csv.treated_list(treated_now(location, timezone.now()), location.practice.tz),
        f"treated-{location.pk}.csv",
    )


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def exchange_json(request: HttpRequest, location_id: int) -> HttpResponse:
    """Return everything that the open exchange standard has a place for, as one file."""
    location = location_in(request.user.practice, location_id)
    body = json.dumps({"member": whole_farm(location, timezone.now())}, indent=1, ensure_ascii=False)
    return _file(body.encode(), f"exchange-{location.pk}.json", "application/json")


def _file(body: bytes, name: str, kind: str = CSV) -> HttpResponse:
    response = HttpResponse(body, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response

"""The day's book: what is booked, and booking something into the day."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cases.models import BookedKind, Location
from cases.services.booking import book_visit, cancel_booking, diary
from cases.triage import catalogue
from rotas.errors import BadInput, DeskError
from rotas.models import Practice, Role, Vet
from rotas.pages.member import member_page, said


@member_page(Role.RECEPTION, Role.VET)
@require_http_methods(["GET", "POST"])
def book(request: HttpRequest) -> HttpResponse:
    """Show a day, or book a visit; a refusal shows the page again with everything typed in place."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "cases/book.html", _shown(request, _day(request, now), now))
    try:
        booked = _book(request, now)
    except DeskError as error:
        page = _shown(request, _day(request, now), now) | {"error": error}
        return render(request, "cases/book.html", page, status=error.status)
    day = request.user.practice.local(booked.window.lower).date()
    return said(request, f"Booked: {booked}.", f"/book/?day={day:%Y-%m-%d}")


def _book(request: HttpRequest, now: datetime) -> Any:
    form = request.POST
    return book_visit(
        practice=request.user.practice,
        actor=request.user,
        now=now,
        location_id=form.get("location"),
        kind=form.get("kind", ""),
        complaint=form.get("complaint", ""),
        start=_local(request, "start"),
        end=_local(request, "end"),
        vet_id=form.get("vet") or None,
        note=form.get("note", ""),
    )


def _local(request: HttpRequest, field: str) -> datetime:
    try:
        typed = parse_datetime(request.POST.get(field, ""))
    except ValueError:
        typed = None
    if typed is None:
        raise BadInput(field=field, problem="write a day and a time.")
    return typed if typed.tzinfo else typed.replace(tzinfo=request.user.practice.tz)


def _day(request: HttpRequest, now: datetime) -> date:
    text = request.GET.get("day", "")
    try:
        return date.fromisoformat(text) if text else request.user.practice.local(now).date()
    except ValueError:
        raise BadInput(field="day", problem="write a day such as 2026-03-14.") from None


def _shown(request: HttpRequest, day: date, now: datetime) -> dict[str, Any]:
    practice = request.user.practice
    return {
        "day": day,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "entries": diary(practice, day),
        "kinds": BookedKind.choices,
        "work": [each for each in catalogue() if each.scheduled],
        "farms": Location.objects.for_practice(practice).order_by("name"),
        "vets": Vet.objects.for_practice(practice)
        .filter(active=True)
        .select_related("member")
        .order_by("code"),
        "opens": _usual_start(practice, day),
        "may_book": request.user.holds(Role.RECEPTION),
        "now": now,
        "form": request.POST,
    }


def _usual_start(practice: Practice, day: date) -> datetime:
    return datetime.combine(day, max(practice.day_from, time(8)), tzinfo=practice.tz)


@member_page(Role.RECEPTION)
@require_POST
def cancel(request: HttpRequest, booked_id: int) -> HttpResponse:
    """Take a booked visit out of the book, with the reason."""
    booked = cancel_booking(
        booked_id=booked_id, actor=request.user, now=timezone.now(), reason=request.POST.get("reason", "")
    )
    day = request.user.practice.local(booked.window.lower).date()
    return said(request, f"Cancelled: {booked}.", f"/book/?day={day:%Y-%m-%d}")


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """Show what changes, for the page that is open already."""
    now = timezone.now()
    return render(request, "cases/book_day.html", _shown(request, _day(request, now), now))

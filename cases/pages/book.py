"""The day's book: what is booked, and booking something into the day."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cases.models import BookedKind, BookedVisit, Location
from cases.services.booking import book_visit, cancel_booking, diary
from cases.triage import catalogue
from rotas.errors import DeskError
from rotas.models import Practice, Role, Vet
from rotas.pages.fields import chosen_day, local_time, row_key, text
from rotas.pages.member import member_page
from rotas.pages.once import done_once


@member_page(Role.RECEPTION, Role.VET)
@require_http_methods(["GET", "POST"])
def book(request: HttpRequest) -> HttpResponse:
    """Show a day, or book a visit; a refusal shows the page again with everything typed in place."""
    now = timezone.now()
    day = _day(request, now)
    if request.method == "GET":
        return render(request, "cases/book.html", _shown(request, day, now))
    try:
        return done_once(request, now, lambda: _book(request, now))
    except DeskError as error:
        return _refused(request, day, now, error)


def _book(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form, practice = request.POST, request.user.practice
    booked = book_visit(
        practice=practice,
        actor=request.user,
        now=now,
        location_id=row_key(form, "location"),
        kind=text(form, "kind"),
        complaint=text(form, "complaint"),
        start=local_time(form, "start", practice.tz),
        end=local_time(form, "end", practice.tz),
        vet_id=row_key(form, "vet"),
        note=text(form, "note"),
    )
    return f"Booked: {booked}.", _page_of(booked)


def _page_of(booked: BookedVisit) -> str:
    day = booked.practice.local(booked.window.lower).date()
    return f"/book/?day={day:%Y-%m-%d}"


def _refused(
    request: HttpRequest, day: date, now: datetime, error: DeskError, at: int | None = None
) -> HttpResponse:
    page = _shown(request, day, now) | {"error": error, "at": at}
    return render(request, "cases/book.html", page, status=error.status)


def _day(request: HttpRequest, now: datetime) -> date:
    return chosen_day(request.GET, "day", otherwise=request.user.practice.local(now).date())


def _shown(request: HttpRequest, day: date, now: datetime) -> dict[str, Any]:
    practice = request.user.practice
    return {
        "day": day,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "entries": diary(practice, day),
        "kinds": BookedKind.choices,
        "work": [(each.code, each.trade_name) for each in catalogue() if each.scheduled],
        "farms": Location.objects.for_practice(practice).order_by("name"),
        "vets": Vet.objects.for_practice(practice)
        .filter(active=True)
        .select_related("member")
        .order_by("code"),
        "opens": _usual_start(practice, day, now),
        "may_book": request.user.holds(Role.RECEPTION),
        "now": now,
        "form": request.POST,
    }


def _usual_start(practice: Practice, day: date, now: datetime) -> datetime:
    """Return when a visit on that day would mostly start: not before the day team, nor in the past."""
    opens = datetime.combine(day, max(practice.day_from, time(8)), tzinfo=practice.tz)
    next_hour = practice.local(now).replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
    return max(opens, next_hour) if next_hour.date() == day else opens


@member_page(Role.RECEPTION)
@require_POST
def cancel(request: HttpRequest, booked_id: int) -> HttpResponse:
    """Take a booked visit out of the book, with the reason."""
    now = timezone.now()
    day = _day(request, now)
    try:
        return done_once(request, now, lambda: _cancel(request, booked_id, now))
    except DeskError as error:
        return _refused(request, day, now, error, at=booked_id)


def _cancel(request: HttpRequest, booked_id: int, now: datetime) -> tuple[str, str]:
    reason = text(request.POST, "reason")
    booked = cancel_booking(booked_id=booked_id, actor=request.user, now=now, reason=reason)
    return f"Cancelled: {booked}.", _page_of(booked)


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """Show what changes, for the page that is open already."""
    now = timezone.now()
    return render(request, "cases/book_day.html", _shown(request, _day(request, now), now))

"""Who is on, and how to reach them: a fortnight at a glance."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_http_methods, require_POST

from rotas.access import shift_in, vet_in
from rotas.errors import BadInput, DeskError
from rotas.models import Role, Shift, ShiftRole, Vet
from rotas.pages.member import member_page, said
from rotas.services.rota import add_shift, end_shift

DAYS = 14


@member_page(Role.RECEPTION, Role.VET)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Show the fortnight from a day on; a manager adds a shift here."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "rotas/rota.html", _shown(request, now))
    try:
        shift = add_shift(
            practice=request.user.practice,
            vet=vet_in(request.user.practice, request.POST.get("vet")),
            role=request.POST.get("role", ""),
            start=_local(request, "start"),
            end=_local(request, "end"),
            actor=request.user,
            now=now,
        )
    except DeskError as error:
        return render(
            request, "rotas/rota.html", _shown(request, now) | {"error": error}, status=error.status
        )
    return said(request, f"On the rota: {shift}.", "/rota/")


def _local(request: HttpRequest, field: str) -> datetime:
    try:
        typed = parse_datetime(request.POST.get(field, ""))
    except ValueError:
        typed = None
    if typed is None:
        raise BadInput(field=field, problem="write a day and a time.")
    return typed if typed.tzinfo else typed.replace(tzinfo=request.user.practice.tz)


def _shown(request: HttpRequest, now: datetime) -> dict[str, Any]:
    practice = request.user.practice
    first = _first(request, now)
    start = datetime.combine(first, time(0), tzinfo=practice.tz)
    rows = Shift.objects.for_practice(practice).select_related("vet__member")
    shifts = list(rows.within(start, start + timedelta(days=DAYS)).in_order())
    days = [first + timedelta(days=ahead) for ahead in range(DAYS)]
    return {
        "on_now": list(rows.at(now).in_order()),
        "days": [
            (day, [each for each in shifts if practice.local(each.starts_at).date() == day]) for day in days
        ],
        "before": first - timedelta(days=DAYS),
        "after": first + timedelta(days=DAYS),
        "vets": Vet.objects.for_practice(practice)
        .filter(active=True)
        .select_related("member")
        .order_by("code"),
        "roles": ShiftRole.choices,
        "may_change": request.user.holds(Role.MANAGER),
        "now": now,
        "form": request.POST,
    }


def _first(request: HttpRequest, now: datetime) -> date:
    text = request.GET.get("from", "")
    try:
        return date.fromisoformat(text) if text else request.user.practice.local(now).date()
    except ValueError:
        raise BadInput(field="from", problem="write a day such as 2026-03-14.") from None


@member_page(Role.MANAGER)
@require_POST
def end(request: HttpRequest, shift_id: int) -> HttpResponse:
    """Take a shift off the rota; it stays in the history."""
    shift = end_shift(
        shift=shift_in(request.user.practice, shift_id),
        actor=request.user,
        now=timezone.now(),
        reason=request.POST.get("reason", ""),
    )
    return said(request, f"Off the rota: {shift}.", "/rota/")

"""Who is on, and how to reach them: a fortnight at a glance."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from rotas.access import require_role, shift_in, vet_in
from rotas.errors import DeskError
from rotas.models import Role, Shift, ShiftRole, Vet
from rotas.pages.fields import chosen_day, local_time, row_key, text
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.rota import add_shift, end_shift

DAYS = 14


@member_page(Role.RECEPTION, Role.VET)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Show the fortnight from a day on; a manager adds a shift here."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "rotas/rota.html", _shown(request, now))
    require_role(request.user, Role.MANAGER)
    try:
        return done_once(request, now, lambda: _add(request, now))
    except DeskError as error:
        return _refused(request, now, error)


def _add(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form, practice = request.POST, request.user.practice
    shift = add_shift(
        practice=practice,
        vet=vet_in(practice, row_key(form, "vet")),
        role=text(form, "role"),
        start=local_time(form, "start", practice.tz),
        end=local_time(form, "end", practice.tz),
        actor=request.user,
        now=now,
    )
    start, end = practice.local(shift.starts_at), practice.local(shift.ends_at)
    return f"On the rota: {shift}, {start:%a %-d %b %H:%M} to {end:%a %-d %b %H:%M}.", "/rota/"


def _refused(request: HttpRequest, now: datetime, error: DeskError, at: int | None = None) -> HttpResponse:
    page = _shown(request, now) | {"error": error, "at": at}
    return render(request, "rotas/rota.html", page, status=error.status)


def _shown(request: HttpRequest, now: datetime) -> dict[str, Any]:
    practice = request.user.practice
    first = chosen_day(request.GET, "from", otherwise=practice.local(now).date())
    start = datetime.combine(first, time(0), tzinfo=practice.tz)
    rows = Shift.objects.for_practice(practice).select_related("vet__member", "practice")
    shifts = list(rows.within(start, start + timedelta(days=DAYS)).in_order())
    days = [first + timedelta(days=ahead) for ahead in range(DAYS)]
    return {
        "on_now": list(rows.at(now).in_order()),
        "days": [(day, _columns(shifts, day)) for day in days],
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


def _columns(shifts: list[Shift], day: date) -> list[tuple[str, list[Shift]]]:
    """Return the duties that begin on a local day, by role."""
    begin = [each for each in shifts if each.practice.local(each.starts_at).date() == day]
    return [(word, [each for each in begin if each.role == role]) for role, word in ShiftRole.choices]


@member_page(Role.MANAGER)
@require_POST
def end(request: HttpRequest, shift_id: int) -> HttpResponse:
    """Take a shift off the rota; it stays in the history."""
    now = timezone.now()
    try:
        return done_once(request, now, lambda: _end(request, shift_id, now))
    except DeskError as error:
        return _refused(request, now, error, at=shift_id)


def _end(request: HttpRequest, shift_id: int, now: datetime) -> tuple[str, str]:
    shift = end_shift(
        shift=shift_in(request.user.practice, shift_id),
        actor=request.user,
        now=now,
        reason=text(request.POST, "reason"),
    )
    return f"Off the rota: {shift}.", "/rota/"

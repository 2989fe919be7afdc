"""Leave: asked for in two dates, answered by a manager who sees what speaks against it. Nobody asks why."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from rotas.access import vet_in, vet_of
from rotas.duty_words import duty_in_words
from rotas.errors import DeskError
from rotas.models import Leave, LeaveState, Role, Shift, Vet
from rotas.pages.fields import needed_day, row_key, text, ticked
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.calendars import own_vet
from rotas.services.leave import (
    approve_leave,
    ask_leave,
    conflicts_of,
    leave_in,
    refuse_leave,
    standing_against,
    standing_against_each,
    withdraw_leave,
)
from rotas.services.repair import LONGEST


@dataclass(frozen=True)
class Away:
    """Agreed leave, the duties that still stand against it, and the address of the page that covers them."""

    leave: Leave
    standing: tuple[str, ...]
    cover: str

    @classmethod
    def of(cls, leave: Leave, duties: tuple[Shift, ...], now: datetime) -> "Away":
        """Say what stands. A month is covered at once; what stands beyond it is asked for again."""
        if not duties:
            return cls(leave, (), "")
        start, end = max(duties[0].starts_at, now), duties[-1].ends_at
        asked = {"vet": leave.vet_id, "start": start, "end": min(end, start + LONGEST)}
        local = {name: at if name == "vet" else _typed(leave, at) for name, at in asked.items()}
        return cls(leave, tuple(map(duty_in_words, duties)), f"/rota/ill/?{urlencode(local)}")


def _away(leaves: list[Leave], now: datetime) -> list[Away]:
    standing = standing_against_each(leaves, now)
    return [Away.of(leave, standing[leave.pk], now) for leave in leaves]


def _typed(leave: Leave, at: datetime) -> str:
    """Return the moment as a form has it."""
    return f"{leave.practice.local(at):%Y-%m-%dT%H:%M}"


def _still(leave: Leave, now: datetime) -> str:
    standing = len(standing_against(leave, now))
    if not standing:
        return ""
    duties = "1 duty still stands" if standing == 1 else f"{standing} duties still stand"
    return f" {duties} on the rota against this leave: see below, and find cover."


@member_page(Role.VET, Role.MANAGER)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Show what waits, who is away, and the form to ask."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "rotas/leave.html", _shown(request, now))
    try:
        return done_once(request, now, lambda: _ask(request, now))
    except DeskError as error:
        return _refused(request, now, error)


def _shown(request: HttpRequest, now: datetime) -> dict[str, Any]:
    practice, member = request.user.practice, request.user
    own, is_manager, today = own_vet(member), member.holds(Role.MANAGER), practice.local(now).date()
    rows = (
        Leave.objects.for_practice(practice)
        .filter(last_day__gte=today)
        .select_related("vet__member", "practice", "decided_by")
    )
    mine = rows.filter(vet=own).order_by("first_day") if own else []
    return {
        "waiting": [(row, conflicts_of(row, now)) for row in rows.waiting()] if is_manager else [],
        "mine": mine,
        "away": _away(list(rows.approved().order_by("first_day")), now) if is_manager else [],
        "own": own,
        "vets": Vet.objects.for_practice(practice)
        .filter(active=True)
        .select_related("member")
        .order_by("code"),
        "is_manager": is_manager,
        "open_states": (LeaveState.ASKED, LeaveState.APPROVED),
        "form": request.POST,
        "now": now,
    }


def _refused(request: HttpRequest, now: datetime, error: DeskError, at: int | None = None) -> HttpResponse:
    page = _shown(request, now) | {"error": error, "at": at}
    return render(request, "rotas/leave.html", page, status=error.status)


def _ask(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    whose = row_key(form, "vet")
    leave = ask_leave(
        vet=vet_in(request.user.practice, whose) if whose is not None else vet_of(request.user),
        first_day=needed_day(form, "first_day"),
        last_day=needed_day(form, "last_day"),
        actor=request.user,
        now=now,
    )
    return (
        f"Leave is asked for {leave.vet}, {leave.first_day:%-d %b} to {leave.last_day:%-d %b}.",
        "/rota/leave/",
    )


@member_page(Role.VET, Role.MANAGER)
@require_POST
def step(request: HttpRequest, leave_id: int, name: str) -> HttpResponse:
    """Approve, refuse or withdraw."""
    now, row = timezone.now(), leave_in(request.user.practice, leave_id)
    try:
        return done_once(request, now, lambda: _step(request, row, name, now))
    except DeskError as error:
        return _refused(request, now, error, at=row.pk)


def _step(request: HttpRequest, row: Leave, name: str, now: datetime) -> tuple[str, str]:
    if name == "approve":
        spite = ticked(request.POST, "in_spite")
        approve_leave(leave=row, actor=request.user, now=now, in_spite_of_conflicts=spite)
        return f"Approved, and {row.vet} is told.{_still(row, now)}", "/rota/leave/"
    if name == "refuse":
        refuse_leave(leave=row, actor=request.user, now=now, reason=text(request.POST, "reason"))
        return f"Refused, and {row.vet} is told.", "/rota/leave/"
    withdraw_leave(leave=row, actor=request.user, now=now)
    return "The leave is taken back.", "/rota/leave/"

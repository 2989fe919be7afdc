"""The list to ring on the aftercare page: a call that reached nobody, and who was told."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST

from cases.pages import aftercare
from cases.services import acknowledging, ringing
from rotas.errors import DeskError
from rotas.models import Role
from rotas.pages.fields import text
from rotas.pages.member import member_page
from rotas.pages.once import done_once


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def tried(request: HttpRequest, ring_id: int) -> HttpResponse:
    """Write a call that reached nobody; it does not close the entry."""
    return _step(request, f"ring-{ring_id}", lambda now: _tried(request, ring_id, now))


def _tried(request: HttpRequest, ring_id: int, now: datetime) -> tuple[str, str]:
    note = text(request.POST, "note", 200)
    ring = ringing.tried(ring_id=ring_id, actor=request.user, now=now, note=note)
    more = " The vet and the managers are told." if ring.escalated_at else " It stays on the list."
    return f"Written down: nobody reached at {ring.location}.{more}", "/aftercare/"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def reached(request: HttpRequest, ring_id: int) -> HttpResponse:
    """Close the entry with who was told."""
    return _step(request, f"ring-{ring_id}", lambda now: _reached(request, ring_id, now))


def _reached(request: HttpRequest, ring_id: int, now: datetime) -> tuple[str, str]:
    who, result = text(request.POST, "who", 120), text(request.POST, "result")
    ring = ringing.reached(ring_id=ring_id, actor=request.user, now=now, who=who, result=result)
    return f"Written down: {ring.told_whom} of {ring.location} was told.", "/aftercare/"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def read(request: HttpRequest, telling_id: int) -> HttpResponse:
    """Write that somebody said on the telephone that they have read a message."""
    return _step(request, f"told-{telling_id}", lambda now: _read(request, telling_id, now))


def _read(request: HttpRequest, telling_id: int, now: datetime) -> tuple[str, str]:
    who = text(request.POST, "who", 120)
    telling = acknowledging.read_on_telephone(telling_id=telling_id, actor=request.user, now=now, who=who)
    return f"Written down: {telling.acknowledged_by} of {telling.location} knows.", "/aftercare/"


def _step(request: HttpRequest, at: str, do: Any) -> HttpResponse:
    now = timezone.now()
    try:
        return done_once(request, now, lambda: do(now))
    except DeskError as error:
        page = aftercare.shown(request) | {"error": error, "at": at, "form": request.POST}
        return render(request, "cases/aftercare.html", page, status=error.status)

"""The desk: who waits, who is where, and what to do next."""

from collections.abc import Callable
from datetime import datetime
from json import loads
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from dispatch.services.desk import desk
from dispatch.services.offers import put_offer, withdraw_offer
from rotas.errors import DeskError
from rotas.models import Member, Practice, Role
from rotas.pages.fields import row_key, text
from rotas.pages.member import is_part, member_page, said


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show the desk to reception; a vet who is nothing else comes to their own calls."""
    if not request.user.holds(Role.RECEPTION):
        return redirect("/mine/")
    return render(request, "dispatch/desk.html", _shown(request.user, timezone.now()))


@member_page(Role.RECEPTION)
@require_GET
def live(request: HttpRequest) -> HttpResponse:
    """Show what changes, for the page that is open already."""
    return render(request, "dispatch/desk_live.html", _shown(request.user, timezone.now()))


def _shown(member: Member, now: datetime) -> dict[str, Any]:
    return {"desk": desk(member.practice, now), "desk_now": now}


@member_page(Role.RECEPTION)
@require_POST
def offer(request: HttpRequest, call_id: int) -> HttpResponse:
    """Put the call to a vet, and show the desk as it then stands."""
    return _done(request, lambda now: _offer(request, call_id, now))


def _offer(request: HttpRequest, call_id: int, now: datetime) -> str:
    form = request.POST
    made = put_offer(
        call_id=call_id,
        vet_id=row_key(form, "vet"),
        actor=request.user,
        now=now,
        place=row_key(form, "place"),
    )
    return f"{made.vet.name} is being asked about call {made.call.number}."


@member_page(Role.RECEPTION)
@require_POST
def withdraw(request: HttpRequest, offer_id: int) -> HttpResponse:
    """Take an open offer back."""
    return _done(request, lambda now: _withdraw(request, offer_id, now))


def _withdraw(request: HttpRequest, offer_id: int, now: datetime) -> str:
    reason = text(request.POST, "reason") or "taken back by reception"
    taken = withdraw_offer(offer_id=offer_id, actor=request.user, now=now, reason=reason)
    return f"{taken.vet.name} is no longer asked about call {taken.call.number}."


def _done(request: HttpRequest, do: Callable[[datetime], str]) -> HttpResponse:
    """Do it and show the desk as it then stands; refused, the desk stays with the sentence above it."""
    now = timezone.now()
    try:
        sentence = do(now)
    except DeskError as error:
        return _desk(request, now, error)
    return _desk(request, now) if is_part(request) else said(request, sentence, "/")


def _desk(request: HttpRequest, now: datetime, error: DeskError | None = None) -> HttpResponse:
    template = "dispatch/desk_answer.html" if is_part(request) else "dispatch/desk.html"
    page = _shown(request.user, now) | {"error": error}
    return render(request, template, page, status=error.status if error else 200)


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def lines(request: HttpRequest) -> JsonResponse:
    """Return the roads, rivers and villages to draw; none where the practice has no drawing."""
    path = _lines_of(request.user.practice)
    drawn = loads(path.read_text()) if path else {"type": "FeatureCollection", "features": []}
    return JsonResponse(drawn, headers={"Cache-Control": "private, max-age=3600"})


def _lines_of(practice: Practice) -> Path | None:
    """Return the drawing that lies beside the practice's road network, if there is one."""
    if not practice.road_network:
        return None
    drawn = (settings.BASE_DIR / practice.road_network).with_suffix("").with_suffix(".geojson")
    return drawn if drawn.is_file() else None

"""The desk: who waits, who is where, and what to do next."""

from datetime import datetime
from json import loads
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from dispatch.services.desk import desk
from dispatch.services.offers import put_offer, withdraw_offer
from rotas.models import Member, Practice, Role
from rotas.pages.member import member_page


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show the desk to reception; a vet who is nothing else comes to their own calls."""
    if not request.user.holds(Role.RECEPTION):
        return HttpResponse(status=302, headers={"Location": "/mine/"})
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
    now = timezone.now()
    place = request.POST.get("place", "")
    put_offer(
        call_id=call_id,
        vet_id=request.POST.get("vet"),
        actor=request.user,
        now=now,
        place=int(place) if place in ("1", "2") else None,
    )
    return _after(request, now)


@member_page(Role.RECEPTION)
@require_POST
def withdraw(request: HttpRequest, offer_id: int) -> HttpResponse:
    """Take an open offer back."""
    now = timezone.now()
    reason = request.POST.get("reason", "") or "taken back by reception"
    withdraw_offer(offer_id=offer_id, actor=request.user, now=now, reason=reason)
    return _after(request, now)


def _after(request: HttpRequest, now: datetime) -> HttpResponse:
    """Show the desk's live part to htmx; without script go back to the page."""
    if request.headers.get("HX-Request"):
        return render(request, "dispatch/desk_live.html", _shown(request.user, now))
    return HttpResponse(status=303, headers={"Location": "/"})


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

"""Somebody cannot work tonight: the smallest change that covers it, looked at, then accepted."""

from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from rotas.access import vet_in
from rotas.errors import DeskError
from rotas.models import Repair, RepairState, Role, Vet
from rotas.pages.fields import local_time, row_key
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.repair import accept_repair, cover_for_illness, repair_in

USUAL = timedelta(hours=24)  # how long somebody is away unless something else is said
LATELY = timedelta(days=3)


@member_page(Role.RECEPTION)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Ask who is ill and until when; propose who takes their duties. An address may bring the answers."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "rotas/ill.html", _shown(request, now))
    try:
        return done_once(request, now, lambda: _propose(request, now))
    except DeskError as error:
        page = _shown(request, now) | {"error": error}
        return render(request, "rotas/ill.html", page, status=error.status)


def _shown(request: HttpRequest, now: datetime) -> dict[str, Any]:
    practice, form = request.user.practice, request.POST or request.GET
    vets = Vet.objects.for_practice(practice).filter(active=True).select_related("member").order_by("code")
    rows = Repair.objects.for_practice(practice).select_related("vet__member", "accepted_by")
    rows = rows.exclude(state=RepairState.SUPERSEDED).filter(made_at__gt=now - LATELY)
    local = practice.local
    return {
        "vets": vets,
        "lately": rows.order_by("-made_at"),
        "start": form.get("start") or f"{local(now):%Y-%m-%dT%H:%M}",
        "end": form.get("end") or f"{local(now + USUAL):%Y-%m-%dT%H:%M}",
        "form": form,
        "now": now,
    }


def _propose(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form, practice = request.POST, request.user.practice
    repair = cover_for_illness(
        vet=vet_in(practice, row_key(form, "vet")),
        start=local_time(form, "start", practice.tz),
        end=local_time(form, "end", practice.tz),
        actor=request.user,
        now=now,
    )
    return (
        f"This is the smallest change that covers {repair.vet}. Nothing is moved yet.",
        f"/rota/ill/{repair.pk}/",
    )


@member_page(Role.RECEPTION)
@require_GET
def proposal(request: HttpRequest, repair_id: int) -> HttpResponse:
    """Show a proposal: who takes what, what nobody can take, and whom to ring."""
    return render(request, "rotas/repair.html", _proposal(request, repair_id, timezone.now()))


def _proposal(request: HttpRequest, repair_id: int, now: datetime) -> dict[str, Any]:
    repair = repair_in(request.user.practice, repair_id)
    taking = {change["to_vet"] for change in repair.changes if change["to_vet"]}
    vets = Vet.objects.for_practice(repair.practice).filter(pk__in=taking).select_related("member")
    practice = repair.practice
    return {
        "repair": repair,
        "start": practice.local(repair.period.lower),
        "end": practice.local(repair.period.upper),
        "is_open": repair.state == RepairState.PROPOSED,
        "ring": vets.order_by("code"),
        "now": now,
    }


@member_page(Role.RECEPTION)
@require_POST
def accept(request: HttpRequest, repair_id: int) -> HttpResponse:
    """Make the change."""
    now, repair = timezone.now(), repair_in(request.user.practice, repair_id)
    try:
        return done_once(request, now, lambda: _accept(request, repair, now))
    except DeskError as error:
        page = _proposal(request, repair_id, now) | {"error": error}
        return render(request, "rotas/repair.html", page, status=error.status)


def _accept(request: HttpRequest, repair: Repair, now: datetime) -> tuple[str, str]:
    accept_repair(repair=repair, actor=request.user, now=now)
    return "The rota is changed, and everyone concerned is told. Ring them too.", f"/rota/ill/{repair.pk}/"

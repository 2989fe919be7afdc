"""The manager makes a rota: a draft, built by the solver, looked at, moved by hand, published."""

from datetime import date, datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from rotas.access import vet_in
from rotas.errors import DeskError
from rotas.models import Role, Rota
from rotas.pages.days import ONE_DAY
from rotas.pages.fields import chosen_day, needed_day, row_key, text, ticked
from rotas.pages.making_shown import days_shown, duty_shown, standing
from rotas.pages.member import is_part, member_page
from rotas.pages.once import done_once, taken_once
from rotas.services.building import ask_build
from rotas.services.drafts import draft_rota, duty_in, move_duty, rota_in
from rotas.services.publishing import publish_rota, withdraw_rota

USUAL = timedelta(weeks=12)  # how long a draft is unless something else is said
WINDOW = timedelta(weeks=4)  # so many days are on the page at once


@member_page(Role.MANAGER)
@require_http_methods(["GET", "POST"])
def rotas(request: HttpRequest) -> HttpResponse:
    """Show the drafts and what is published; begin a draft."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "rotas/making.html", _rotas(request, now))
    try:
        return done_once(request, now, lambda: _draft(request, now))
    except DeskError as error:
        shown = _rotas(request, now) | {"error": error}
        return render(request, "rotas/making.html", shown, status=error.status)


def _rotas(request: HttpRequest, now: datetime) -> dict[str, Any]:
    practice = request.user.practice
    rows = Rota.objects.for_practice(practice).select_related("made_by", "published_by")
    published = list(rows.published().order_by("-last_day"))
    today = practice.local(now).date()
    first = max([today, *(each.last_day for each in published)]) + ONE_DAY
    return {
        "drafts": rows.drafts().order_by("-made_at"),
        "published": published,
        "first_day": request.POST.get("first_day") or f"{first:%Y-%m-%d}",
        "last_day": request.POST.get("last_day") or f"{first + USUAL - ONE_DAY:%Y-%m-%d}",
        "form": request.POST,
    }


def _draft(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    rota = draft_rota(
        practice=request.user.practice,
        first_day=needed_day(form, "first_day"),
        last_day=needed_day(form, "last_day"),
        name=text(form, "name", 120),
        actor=request.user,
        now=now,
    )
    return f"The draft {rota} is begun. Nobody is told of it.", _address(rota)


def _address(rota: Rota) -> str:
    return f"/rota/make/{rota.pk}/"


@member_page(Role.MANAGER)
@require_GET
def show(request: HttpRequest, rota_id: int) -> HttpResponse:
    """Show one rota: where it stands, its gaps and broken rules, its fairness, and its days."""
    rota = rota_in(request.user.practice, rota_id)
    return render(request, "rotas/rota_made.html", _shown(request, rota, timezone.now()))


@member_page(Role.MANAGER)
@require_GET
def live(request: HttpRequest, rota_id: int) -> HttpResponse:
    """The part that says where it stands; an open page asks while the rota is being built."""
    rota = rota_in(request.user.practice, rota_id)
    built = request.GET.get("build") == str(rota.build_number) and rota.build_state != "asked"
    if built:  # the days are new as well: the whole page is fetched anew
        return HttpResponse(headers={"HX-Refresh": "true"})
    now = timezone.now()
    return render(
        request, "rotas/rota_standing.html", {"rota": rota, "standing": standing(rota, now), "now": now}
    )


def _shown(request: HttpRequest, rota: Rota, now: datetime) -> dict[str, Any]:
    first = _window(request, rota)
    last = min(first + WINDOW - ONE_DAY, rota.last_day)
    return {
        "rota": rota,
        "standing": standing(rota, now),
        "rows": days_shown(rota, first, last),
        "first": first,
        "last": last,
        "before": max(rota.first_day, first - WINDOW) if first > rota.first_day else None,
        "after": last + ONE_DAY if last < rota.last_day else None,
        "now": now,
        "form": request.POST,
    }


def _window(request: HttpRequest, rota: Rota) -> date:
    day = chosen_day(request.GET, "day", otherwise=rota.first_day)
    return min(max(day, rota.first_day), rota.last_day)


@member_page(Role.MANAGER)
@require_POST
def build(request: HttpRequest, rota_id: int) -> HttpResponse:
    """Have it built."""
    now, rota = timezone.now(), rota_in(request.user.practice, rota_id)
    return done_once(request, now, lambda: _build(request, rota, now))


def _build(request: HttpRequest, rota: Rota, now: datetime) -> tuple[str, str]:
    ask_build(rota=rota, actor=request.user, now=now)
    return "It is being built. You may leave this page meanwhile.", _address(rota)


@member_page(Role.MANAGER)
@require_POST
def publish(request: HttpRequest, rota_id: int) -> HttpResponse:
    """Put it on the rota for everyone, or say what stands against that."""
    now, rota = timezone.now(), rota_in(request.user.practice, rota_id)
    try:
        return done_once(request, now, lambda: _publish(request, rota, now))
    except DeskError as error:
        return _refused(request, rota, now, error)


def _publish(request: HttpRequest, rota: Rota, now: datetime) -> tuple[str, str]:
    publish_rota(rota=rota, actor=request.user, now=now, with_gaps=ticked(request.POST, "with_gaps"))
    return f"The rota {rota} is published, and everyone is told.", _address(rota)


@member_page(Role.MANAGER)
@require_POST
def withdraw(request: HttpRequest, rota_id: int) -> HttpResponse:
    """Discard a draft, or take what is to come of a published rota off again."""
    now, rota = timezone.now(), rota_in(request.user.practice, rota_id)
    try:
        return done_once(request, now, lambda: _withdraw(request, rota, now))
    except DeskError as error:
        return _refused(request, rota, now, error)


def _withdraw(request: HttpRequest, rota: Rota, now: datetime) -> tuple[str, str]:
    withdraw_rota(rota=rota, actor=request.user, now=now, reason=text(request.POST, "reason"))
    return f"The rota {rota} is off the table.", "/rota/make/"


def _refused(request: HttpRequest, rota: Rota, now: datetime, error: DeskError) -> HttpResponse:
    shown = _shown(request, rota, now) | {"error": error}
    return render(request, "rotas/rota_made.html", shown, status=error.status)


@member_page(Role.MANAGER)
@require_http_methods(["GET", "POST"])
def duty(request: HttpRequest, duty_id: int) -> HttpResponse:
    """Show one duty of a draft with who may have it; put somebody else on, and say at once what breaks."""
    now, row = timezone.now(), duty_in(request.user.practice, duty_id)
    if request.method == "GET":
        return render(request, _duty_template(request), duty_shown(row))
    before = row.vet
    vet_id = row_key(request.POST, "vet")
    vet = vet_in(request.user.practice, vet_id) if vet_id is not None else None
    broken = taken_once(request, now, lambda: _move(request, row, vet, now))
    row = duty_in(request.user.practice, duty_id)
    if not is_part(request):
        return redirect(f"{_address(row.rota)}?day={row.day:%Y-%m-%d}#d-{row.pk}")
    moved = {
        "broken": broken,
        "before": before,
        "moved": True,
        "standing": standing(row.rota, now),
        "now": now,
    }
    return render(request, "rotas/rota_duty_moved.html", duty_shown(row) | moved)


def _move(request: HttpRequest, row: Any, vet: Any, now: datetime) -> list[str]:
    _, broken = move_duty(draft_duty=row, vet=vet, actor=request.user, now=now)
    return [each.sentence for each in broken]


def _duty_template(request: HttpRequest) -> str:
    return "rotas/rota_duty_part.html" if is_part(request) else "rotas/rota_duty.html"

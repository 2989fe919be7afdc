"""Swaps: asked of a colleague, answered by them, left standing or stopped by the manager."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from rotas.access import shift_in, vet_in, vet_of
from rotas.duty_words import duty_in_words
from rotas.errors import DeskError, NotAllowed
from rotas.models import Role, Shift, Swap, SwapState, Vet
from rotas.pages.fields import row_key, text
from rotas.pages.member import is_part, member_page
from rotas.pages.once import done_once
from rotas.services.calendars import own_vet
from rotas.services.swaps import (
    accept_swap,
    approve_swap,
    ask_swap,
    broken_by_swap,
    in_words,
    needs_approval,
    refuse_swap,
    swap_in,
    veto_swap,
    withdraw_swap,
)
from rotas.swap_hours import changes

LATELY = 10  # so many that have ended are shown
AHEAD = timedelta(weeks=8)  # duties that can be had in return

STEPS: dict[str, tuple[Callable[..., Swap], str]] = {
    "accept": (accept_swap, "You take it. It is done unless the manager stops it."),
    "refuse": (refuse_swap, "You said no. Nobody asks why."),
    "withdraw": (withdraw_swap, "You took it back. The duties stay as they are."),
    "approve": (approve_swap, "Done: the rota is changed, and both are told."),
    "veto": (veto_swap, "Stopped: the duties stay as they are, and both are told."),
}


@member_page(Role.VET, Role.MANAGER)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show what waits for the member, and what has ended lately."""
    return render(request, "rotas/swaps.html", _shown(request, timezone.now()))


def _shown(request: HttpRequest, now: datetime) -> dict[str, Any]:
    own, is_manager = own_vet(request.user), request.user.holds(Role.MANAGER)
    rows = Swap.objects.for_practice(request.user.practice).select_related(
        "from_vet__member", "to_vet__member", "shift__practice", "in_return__practice", "decided_by"
    )
    if not is_manager:
        rows = rows.of_vet(own) if own else rows.none()
    ended = rows.exclude(state__in=(SwapState.ASKED, SwapState.ACCEPTED)).order_by("-asked_at")
    return {
        "open": [_with_words(swap, own) for swap in rows.open().order_by("asked_at")],
        "ended": [(swap, in_words(swap)) for swap in ended[:LATELY]],
        "own": own,
        "is_manager": is_manager,
        "form": request.POST,
        "now": now,
    }


def _with_words(swap: Swap, own: Vet | None) -> dict[str, Any]:
    return {
        "swap": swap,
        "words": in_words(swap),
        "asked_of_me": own is not None and swap.to_vet_id == own.pk and swap.state == SwapState.ASKED,
        "mine": own is not None and swap.from_vet_id == own.pk,
        "is_accepted": swap.state == SwapState.ACCEPTED,
        "needs_approval": needs_approval(swap),
    }


@member_page(Role.VET, Role.MANAGER)
@require_POST
def step(request: HttpRequest, swap_id: int, name: str) -> HttpResponse:
    """Answer a swap, take it back, or decide it."""
    now, row = timezone.now(), swap_in(request.user.practice, swap_id)
    try:
        return done_once(request, now, lambda: _step(request, row, name, now))
    except DeskError as error:
        page = _shown(request, now) | {"error": error, "at": row.pk}
        return render(request, "rotas/swaps.html", page, status=error.status)


def _step(request: HttpRequest, row: Swap, name: str, now: datetime) -> tuple[str, str]:
    service, sentence = STEPS[name]
    reason = {"reason": text(request.POST, "reason")} if name == "veto" else {}
    service(swap=row, actor=request.user, now=now, **reason)
    return sentence, "/rota/swaps/"


@member_page(Role.VET)
@require_http_methods(["GET", "POST"])
def ask(request: HttpRequest, shift_id: int) -> HttpResponse:
    """Choose who takes a duty of the member's, see what it changes and breaks, and ask."""
    now, shift = timezone.now(), shift_in(request.user.practice, shift_id)
    if vet_of(request.user).pk != shift.vet_id:
        raise NotAllowed("You can give away your own duties only.", role="vet")
    if request.method == "GET":
        template = "rotas/swap_preview.html" if is_part(request) else "rotas/swap_ask.html"
        return render(request, template, _asking(request, shift, now))
    try:
        return done_once(request, now, lambda: _ask(request, shift, now))
    except DeskError as error:
        page = _asking(request, shift, now) | {"error": error}
        return render(request, "rotas/swap_ask.html", page, status=error.status)


def _ask(request: HttpRequest, shift: Shift, now: datetime) -> tuple[str, str]:
    practice, back = request.user.practice, row_key(request.POST, "in_return")
    swap = ask_swap(
        shift=shift,
        to_vet=vet_in(practice, row_key(request.POST, "to_vet")),
        in_return=shift_in(practice, back) if back is not None else None,
        actor=request.user,
        now=now,
    )
    return f"{swap.to_vet} is asked.", "/rota/swaps/"


def _asking(request: HttpRequest, shift: Shift, now: datetime) -> dict[str, Any]:
    """Return the vets; of the one looked at, what each duty in return would change and break."""
    practice = request.user.practice
    vets = Vet.objects.for_practice(practice).filter(active=True, rota_roles__contains=[shift.role])
    vets = vets.exclude(pk=shift.vet_id).select_related("member").order_by("code")
    shown: dict[str, Any] = {
        "shift": shift,
        "words": duty_in_words(shift),
        "vets": vets,
        "form": request.POST or request.GET,
        "now": now,
    }
    chosen = row_key(shown["form"], "to_vet")
    return shown | (_with(vet_in(practice, chosen), shift, shown["form"], now) if chosen is not None else {})


def _with(to_vet: Vet, shift: Shift, form: QueryDict, now: datetime) -> dict[str, Any]:
    """Return the duties that this vet could give in return; of the one chosen, what it changes and breaks."""
    rows = Shift.objects.filter(vet=to_vet, role__in=shift.vet.rota_roles).within(now, now + AHEAD)
    rows = rows.select_related("practice", "vet__member").in_order()
    theirs = [each for each in rows if each.starts_at > now]
    back = next((each for each in theirs if each.pk == row_key(form, "in_return")), None)
    return {
        "to_vet": to_vet,
        "returns": [("", "nothing in return"), *((str(each.pk), duty_in_words(each)) for each in theirs)],
        "broken": [each.sentence for each in broken_by_swap(shift, to_vet, back, now)],
        "changes": [each.as_json()["sentence"] for each in changes(shift, to_vet, back)],
    }

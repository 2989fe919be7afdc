"""The on-call vet's page, for a phone held in a wet hand: what is asked, what is next, one press each."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from cases.models import BookedState, BookedVisit, Visit, VisitState
from cases.pages.rechecks import calls_of
from dispatch.desk.vets import tired_words
from dispatch.inputs.tired import working_on
from dispatch.models import DeclineReason, Offer
from dispatch.services.assigning import take_booked
from dispatch.services.offers import accept_offer, decline_offer
from rotas.access import vet_of
from rotas.errors import DeskError
from rotas.models import MOST_HOURS_SLEPT, Member, Role, SelfReport, Shift, Vet
from rotas.pages.fields import hours_if_said, text
from rotas.pages.member import member_page, said, wants_json
from rotas.pages.pressed import happened
from rotas.services.fatigue import plain_states
from rotas.services.rest import vet_rest
from rotas.services.vets import report_self

LATELY = timedelta(hours=12)


@member_page(Role.VET)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show the vet's own page."""
    return render(request, "dispatch/mine.html", _shown(request.user, timezone.now()))


@member_page(Role.VET)
@require_GET
def live(request: HttpRequest) -> HttpResponse:
    """Show what changes, for the page that is open already."""
    return render(request, "dispatch/mine_live.html", _shown(request.user, timezone.now()))


def _shown(member: Member, now: datetime) -> dict[str, Any]:
    vet = vet_of(member)
    visits = (
        Visit.objects.for_practice(member.practice)
        .filter(vet=vet)
        .select_related("call__location", "booked__location")
    )
    done = visits.filter(state=VisitState.FINISHED, finished_at__gt=now - LATELY)
    return {
        "vet": vet,
        "offers": Offer.objects.for_practice(member.practice)
        .open()
        .filter(vet=vet)
        .select_related("call__location", "call__client"),
        "visits": visits.active().order_by("accepted_at"),
        "done": done.order_by("-finished_at"),
        "booked": _booked(member, vet.pk, now),
        **calls_of(vet, now),
        "shift": Shift.objects.for_practice(member.practice).at(now).filter(vet=vet).first(),
        "rest": vet_rest(vet, now),
        "tiredness": _tiredness(member, vet, visits, now),
        "states": SelfReport.choices,
        "most_hours_slept": MOST_HOURS_SLEPT,
        "stood_down": vet.is_stood_down(now),
        "reasons": DeclineReason.choices,
        "now": now,
    }


def _tiredness(member: Member, vet: Vet, visits: QuerySet[Visit], now: datetime) -> str:
    """Say what the desk reads of the vet."""
    working = {vet.pk: tuple(working_on(visits.active(), now))}
    return tired_words(plain_states(member.practice, [vet], now, under_way=working)[vet.pk])


def _booked(member: Member, vet_id: int, now: datetime) -> Any:
    """Return the booked visits of the coming day that this vet may take: their own, or nobody's."""
    rows = BookedVisit.objects.for_practice(member.practice).filter(
        state=BookedState.BOOKED, window__overlap=(now, now + timedelta(hours=24))
    )
    free = rows.exclude(visits__state__in=[VisitState.ACCEPTED, VisitState.SET_OUT, VisitState.ON_FARM])
    return (free.filter(vet_id=vet_id) | free.filter(vet=None)).select_related("location").order_by("window")


@member_page(Role.VET)
@require_POST
def accept(request: HttpRequest, offer_id: int) -> HttpResponse:
    """Accept an offer. The page may have kept the press while there was no signal."""
    now = timezone.now()

    def do() -> tuple[str, str]:
        pressed = happened(request.POST, now)
        visit = accept_offer(offer_id=offer_id, actor=request.user, now=now, happened_at=pressed)
        return "It is yours: the desk has confirmed it.", f"/visits/{visit.pk}/"

    return _done(request, now, do)


@member_page(Role.VET)
@require_POST
def decline(request: HttpRequest, offer_id: int) -> HttpResponse:
    """Decline an offer with one of the reasons."""
    now, form = timezone.now(), request.POST

    def do() -> tuple[str, str]:
        reason, note = text(form, "reason"), text(form, "note")
        decline_offer(offer_id=offer_id, actor=request.user, now=now, reason=reason, note=note)
        return "Declined. Somebody else is being asked.", "/mine/"

    return _done(request, now, do)


@member_page(Role.VET)
@require_POST
def take(request: HttpRequest, booked_id: int) -> HttpResponse:
    """Take a booked visit."""
    now = timezone.now()

    def do() -> tuple[str, str]:
        vet = vet_of(request.user)
        visit = take_booked(booked_id=booked_id, vet_id=vet.pk, actor=request.user, now=now)
        return "It is yours.", f"/visits/{visit.pk}/"

    return _done(request, now, do)


@member_page(Role.VET)
@require_POST
def feel(request: HttpRequest) -> HttpResponse:
    """Say how you are, with one press."""
    now = timezone.now()

    def do() -> tuple[str, str]:
        state = text(request.POST, "state")
        slept = hours_if_said(request.POST, "hours_slept")
        me = vet_of(request.user)
        vet = report_self(vet=me, state=state, actor=request.user, now=now, hours_slept=slept)
        return _felt(vet, now), "/mine/"

    return _done(request, now, do)


def _felt(vet: Vet, now: datetime) -> str:
    if not vet.is_stood_down(now):
        return f"Written down: {vet.get_self_report_display()}."
    until = vet.practice.local(vet.stood_down_until)
    return f"You are stood down until {until:%a %H:%M}. Do not drive; ask for a lift if you are out."


def _done(request: HttpRequest, now: datetime, do: Callable[[], tuple[str, str]]) -> HttpResponse:
    """Do it and go on; refused, the vet's page says so, or a script of ours does."""
    try:
        return said(request, *do())
    except DeskError as error:
        if wants_json(request):
            raise
        page = _shown(request.user, now) | {"error": error, "form": request.POST}
        return render(request, "dispatch/mine.html", page, status=error.status)

"""The rechecks by who and when, on one time axis; the follow-up table; what people write down of each."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from cases.access import recheck_in, visit_in
from cases.followups import Anchor, FollowupError, table_now, table_of, tables
from cases.followups.order import Desk
from cases.models import Animal, AnswerHow, AttemptOutcome, Recheck
from cases.services.recheck_animals import animal_called, say_animal
from cases.services.recheck_answers import farmer_answers
from cases.services.recheck_attempts import record_attempt
from cases.services.recheck_booking import book_again, name_another_vet
from cases.services.recheck_lists import COMING, Owed, by_list, owed, owed_by, waiting
from cases.services.rechecks import anchor_happened, end_recheck, record_result
from rotas.errors import BadInput, DeskError, NotFound
from rotas.models import Practice, Role, Vet
from rotas.pages.days import Axis
from rotas.pages.fields import local_time, row_key, text
from rotas.pages.member import member_page
from rotas.pages.once import done_once

SHOWN = 60  # rows of a list; the rest is counted, never left out in silence
BEHIND = timedelta(days=1)


@dataclass(frozen=True)
class Row:
    """One recheck on the axis: where its time stands, and from where to where its visit may start."""

    owed: Owed
    at: float
    start: float
    width: float


@dataclass(frozen=True)
class Lane:
    """One list: whose it is, its rows as far as shown, and how many more there are."""

    desk: Desk
    rows: list[Row]
    more: int


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show what is owed, by who and when."""
    return render(request, "cases/rechecks.html", _shown(request))


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def live(request: HttpRequest) -> HttpResponse:
    """Show what changes, for the page that is open already."""
    return render(request, "cases/rechecks_live.html", _shown(request))


def _shown(request: HttpRequest) -> dict[str, Any]:
    practice, now = request.user.practice, timezone.now()
    rows = owed(practice, now)
    axis = axis_of(practice, now)
    return choices_for(practice, [row.recheck.location_id for row in rows]) | {
        "axis": axis,
        "ticks": axis.ticks(),
        "now_at": axis.share(now),
        "lanes": [Lane(desk, laid(axis, found[:SHOWN]), len(found[SHOWN:])) for desk, found in by_list(rows)],
        "waiting": waiting(practice)[:SHOWN],
        "urgent": sum(row.desk is Desk.URGENT for row in rows),
        "overdue": sum(row.overdue for row in rows),
        "oldest": min((row.due_at for row in rows if row.overdue), default=None),
        "outcomes": AttemptOutcome.choices,
        "is_vet": request.user.holds(Role.VET),
        "may_take": request.user.holds(Role.RECEPTION),
        "version": table_now().version,
        "now": now,
    }


def choices_for(practice: Practice, farms: Iterable[int]) -> dict[str, Any]:
    """Return what the forms of rechecks choose from: each farm's animals once, and the vets."""
    animals = Animal.objects.for_practice(practice).filter(location__in=set(farms), ended_at=None)
    vets = Vet.objects.for_practice(practice).filter(active=True).select_related("member")
    return {
        "known_animals": animals.order_by("location", "farm_number", "tag"),
        "vets": vets.order_by("code"),
    }


def axis_of(practice: Practice, now: datetime) -> Axis:
    """Return the days that the lists share: yesterday, today and the coming week."""
    first, last = practice.local(now - BEHIND).date(), practice.local(now + COMING).date()
    return Axis(practice, first, last)


def laid(axis: Axis, rows: Iterable[Owed]) -> list[Row]:
    """Lay rows on the axis; what is older than its first day stands at its edge."""
    return [_laid(axis, row) for row in rows]


def _laid(axis: Axis, row: Owed) -> Row:
    booked = row.recheck.booked
    start = axis.share(booked.window.lower) if booked else axis.share(row.due_at)
    end = axis.share(booked.window.upper) if booked else start
    return Row(row, axis.share(row.due_at), start, round(end - start, 3))


def calls_of(vet: Vet, now: datetime) -> dict[str, Any]:
    """Return a vet's own telephone list, for the vet's own page."""
    axis, rows = axis_of(vet.practice, now), owed_by(vet, now)
    return choices_for(vet.practice, [row.recheck.location_id for row in rows]) | {
        "to_ring": laid(axis, rows),
        "ticks": axis.ticks(),
        "now_at": axis.share(now),
        "outcomes": AttemptOutcome.choices,
        "is_vet": True,
        "may_take": vet.member.holds(Role.RECEPTION),
        "back": "mine",
    }


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def table(request: HttpRequest) -> HttpResponse:
    """Show the follow-up table, of the version asked for or the newest."""
    try:
        shown = table_of(request.GET["version"]) if "version" in request.GET else table_now()
    except FollowupError as error:
        raise NotFound(error.sentence, what="table") from None
    return render(request, "cases/followup_table.html", {"table": shown, "versions": tables().values()})


def _step(request: HttpRequest, recheck_id: int, do: Callable[[datetime], str]) -> HttpResponse:
    """Do one thing to a recheck and go back to the list, or show the refusal there."""
    now = timezone.now()
    back = "/mine/" if request.POST.get("back") == "mine" else "/rechecks/"
    try:
        return done_once(request, now, lambda: (do(now), f"{back}#recheck-{recheck_id}"))
    except DeskError as error:
        page = _shown(request) | {"error": error, "at": recheck_id, "form": request.POST}
        return render(request, "cases/rechecks.html", page, status=error.status)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def result(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """Close a recheck with what was found."""

    def do(now: datetime) -> str:
        said = text(request.POST, "result")
        row = record_result(recheck_id=recheck_id, actor=request.user, now=now, result=said)
        return f"Closed for {row.location}: {row.result}"

    return _step(request, recheck_id, do)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def attempt(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """Write a try that reached nobody."""

    def do(now: datetime) -> str:
        outcome, note = text(request.POST, "outcome"), text(request.POST, "note")
        tried = record_attempt(recheck_id=recheck_id, actor=request.user, now=now, outcome=outcome, note=note)
        told = " The duty vet and the desk are told." if tried.recheck.escalated_at else ""
        return f"Written down: {tried.get_outcome_display()}. It stays open.{told}"

    return _step(request, recheck_id, do)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def answer(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """Write what the farm said on the telephone."""

    def do(now: datetime) -> str:
        recheck = recheck_in(request.user.practice, recheck_id)
        fine = fine_of(request)
        farmer_answers(
            recheck=recheck,
            fine=fine,
            words=text(request.POST, "words"),
            said_by=text(request.POST, "said_by", 120),
            at=now,
            how=AnswerHow.TELEPHONE,
            now=now,
            heard_by=request.user,
        )
        return "Written down: fine." if fine else "Not fine: the duty vet and the desk are told now."

    return _step(request, recheck_id, do)


def fine_of(request: HttpRequest) -> bool:
    """Return which of the two buttons was pressed."""
    said = request.POST.get("fine", "")
    if said not in ("yes", "no"):
        raise BadInput(field="fine", problem="press fine or not fine.")
    return said == "yes"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def end(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """End a recheck without a result, with the reason."""

    def do(now: datetime) -> str:
        why = text(request.POST, "reason")
        row = end_recheck(recheck_id=recheck_id, actor=request.user, now=now, reason=why)
        return f"Ended without a result for {row.location}: {why}"

    return _step(request, recheck_id, do)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def animal(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """Say which animal it is about."""

    def do(now: datetime) -> str:
        location = recheck_in(request.user.practice, recheck_id).location
        called = text(request.POST, "tag", 40)
        key = animal_called(location, called).pk if called else None
        row = say_animal(recheck_id=recheck_id, animal_id=key, actor=request.user, now=now)
        return f"{row.action.capitalize()}: it is about {row.animal or 'no single animal'}."

    return _step(request, recheck_id, do)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def book(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """Book the visit again."""

    def do(now: datetime) -> str:
        recheck_in(request.user.practice, recheck_id)
        vet = row_key(request.POST, "vet")
        row = book_again(recheck_id=recheck_id, actor=request.user, now=now, vet_id=vet)
        return f"The visit to {row.location} is booked again{_only(row)}."

    return _step(request, recheck_id, do)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def another_vet(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """Name another vet for a booked visit that only one may make, such as the reading of a test."""

    def do(now: datetime) -> str:
        recheck_in(request.user.practice, recheck_id)
        vet, why = row_key(request.POST, "vet"), text(request.POST, "reason")
        row = name_another_vet(recheck_id=recheck_id, vet_id=vet, actor=request.user, now=now, reason=why)
        return f"The visit to {row.location} is booked anew{_only(row)}."

    return _step(request, recheck_id, do)


def _only(recheck: Recheck) -> str:
    """Say who goes, where only one may."""
    vet = recheck.booked.vet if recheck.booked else None
    return f", {vet.name} only" if vet else ""


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def event(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Write that what rechecks wait for has happened."""

    def do(now: datetime) -> str:
        visit_in(request.user.practice, visit_id)
        anchor = text(request.POST, "anchor")
        at = local_time(request.POST, "happened_at", request.user.practice.tz, otherwise=now)
        due = anchor_happened(visit_id=visit_id, anchor=anchor, happened_at=at, actor=request.user, now=now)
        return f"{Anchor(anchor).word.capitalize()} is written down: {len(due)} to be checked from it."

    return _step(request, visit_id, do)

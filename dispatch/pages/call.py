"""All about one call, and everything that reception can do with it by hand."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from cases.access import call_in
from cases.models import Call, Location
from cases.pages.take import ANSWER, Asked, answers_in
from cases.services.calls import (
    cancel_call,
    defer_call,
    give_advice,
    hand_over_call,
    reassess,
    resume_call,
    say_farm,
)
from cases.triage import BRING_IN_WORDS, SECOND_PERSON_WORDS, questions_for
from dispatch.desk.shapes import CallRow
from dispatch.services.assigning import assign_by_hand
from dispatch.services.desk import desk
from rotas.errors import DeskError, NotFound
from rotas.models import AuditLine, Member, Neighbour, Role, Vet
from rotas.pages.fields import local_time, row_key, text, ticked, whole_number
from rotas.pages.member import member_page
from rotas.pages.once import done_once

Step = Callable[[HttpRequest, int, datetime], str]


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest, call_id: int) -> HttpResponse:
    """Show the call."""
    page = shown(request, call_id, timezone.now())
    return render(request, "dispatch/call.html", page | _steps(page["call"], QueryDict()))


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def live(request: HttpRequest, call_id: int) -> HttpResponse:
    """Show where the call stands, for the page that is open already."""
    return render(request, "dispatch/call_standing.html", shown(request, call_id, timezone.now()))


@member_page(Role.RECEPTION)
@require_GET
def picked(request: HttpRequest, call_id: int) -> HttpResponse:
    """Show what the plan says of the vet who is about to be given the call by hand."""
    practice = request.user.practice
    call, board = call_in(practice, call_id), desk(practice, timezone.now())
    row = next((row for row in board.calls if row.call_id == call.pk), None)
    return render(request, "dispatch/call_picked.html", {"desk": board} | _pick(row, request.GET))


def _pick(row: CallRow | None, form: QueryDict) -> dict[str, Any]:
    """Return what the plan says of the vet in a form."""
    vet = form.get("vet", "").strip()
    verdicts = row.verdicts if row else ()
    return {"pick": next((each for each in verdicts if str(each.vet_id) == vet), None), "chosen": vet != ""}


def shown(request: HttpRequest, call_id: int, now: datetime) -> dict[str, Any]:
    """Return everything the page shows."""
    practice = request.user.practice
    call = call_in(practice, call_id)
    board = desk(practice, now)
    return {
        "call": call,
        "row": next((row for row in board.calls if row.call_id == call.pk), None),
        "desk": board,
        "story": AuditLine.objects.for_practice(practice)
        .filter(subject__in=_subjects(call))
        .order_by("at", "pk"),
        "visits": call.visits.select_related("vet__member").order_by("accepted_at"),
        "asked": _asked(call, QueryDict()),
        "second_person": SECOND_PERSON_WORDS.get(call.assessment.get("second_person", ""), ""),
        "bring_in": BRING_IN_WORDS.get(call.assessment.get("bring_in", ""), ""),
        "vets": Vet.objects.for_practice(practice)
        .filter(active=True)
        .select_related("member")
        .order_by("code"),
        "managers": Member.objects.for_practice(practice).filter(
            is_active=True, roles__contains=[Role.MANAGER]
        ),
        "neighbours": [
            (each.pk, ", ".join(filter(None, [each.name, str(each.phone)])))
            for each in Neighbour.objects.for_practice(practice).order_by("name")
        ],
        "at_desk": request.user.holds(Role.RECEPTION),
        "farms": [] if call.location_id else Location.objects.for_practice(practice).order_by("name"),
        "next_morning": _next_morning(practice, now),
    }


def _asked(call: Call, form: QueryDict) -> list[Asked]:
    """Return the complaint's questions with the answers as they were given, or as they were just typed."""
    known = {each.key: str(call.answers.get(each.key, "")) for each in questions_for(call.complaint)}
    return [
        Asked(each, form.get(ANSWER + each.key, known[each.key])) for each in questions_for(call.complaint)
    ]


def _steps(call: Call, form: QueryDict, step: str = "") -> dict[str, Any]:
    """Return what stands in the forms: the one that was refused keeps what was typed, the others are new."""
    typed = {name.replace("-", "_"): form if name == step else QueryDict() for name in STEPS}
    return {"typed": typed, "step": step, "asked_again": _asked(call, typed["reassess"])}


def _subjects(call: Call) -> list[str]:
    """Return the audit names of the call and of everything that was done for it."""
    names = [f"call:{call.pk}"]
    names += [f"offer:{key}" for key in call.offers.values_list("pk", flat=True)]
    visits = list(call.visits.values_list("pk", flat=True))
    names += [f"visit:{key}" for key in visits]
    return names


def _next_morning(practice: Any, now: datetime) -> datetime:
    """Return when the day team next begins."""
    local = practice.local(now)
    morning = local.replace(
        hour=practice.day_from.hour, minute=practice.day_from.minute, second=0, microsecond=0
    )
    return morning if morning > local else morning + timedelta(days=1)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def step(request: HttpRequest, call_id: int, name: str) -> HttpResponse:
    """Do one thing with the call; a refusal shows the page again with everything typed in place."""
    now = timezone.now()
    try:
        return done_once(request, now, lambda: (_named(name)(request, call_id, now), f"/calls/{call_id}/"))
    except DeskError as error:
        page = shown(request, call_id, now) | {"error": error}
        page |= _steps(page["call"], request.POST, name)
        page |= _pick(page["row"], request.POST)
        return render(request, "dispatch/call.html", page, status=error.status)


def _named(name: str) -> Step:
    if name not in STEPS:
        raise NotFound("There is nothing of that name to do with a call. Load the page again.")
    return STEPS[name]


def _assign(request: HttpRequest, call_id: int, now: datetime) -> str:
    form = request.POST
    visit = assign_by_hand(
        call_id=call_id,
        vet_id=row_key(form, "vet"),
        actor=request.user,
        now=now,
        reason=text(form, "reason"),
        approved_by_id=row_key(form, "approved_by"),
        approval_reason=text(form, "approval_reason"),
    )
    return f"{visit.vet.name} has the call."


def _defer(request: HttpRequest, call_id: int, now: datetime) -> str:
    form, practice = request.POST, request.user.practice
    until = local_time(form, "until", practice.tz)
    call = defer_call(
        call_id=call_id,
        actor=request.user,
        now=now,
        until=until,
        reason=text(form, "reason"),
        agreed_by_vet_id=row_key(form, "vet"),
    )
    return f"Call {call.number} is left until {practice.local(until):%a %H:%M}."


def _hand_over(request: HttpRequest, call_id: int, now: datetime) -> str:
    form = request.POST
    call = hand_over_call(
        call_id=call_id,
        actor=request.user,
        now=now,
        accepted_by=text(form, "accepted_by", 120),
        told=text(form, "told"),
        neighbour_id=row_key(form, "neighbour"),
        neighbour=text(form, "neighbour_name", 120),
    )
    return f"Call {call.number} is handed over to {call.handed_over_to}."


def _advise(request: HttpRequest, call_id: int, now: datetime) -> str:
    form = request.POST
    call = give_advice(
        call_id=call_id,
        actor=request.user,
        now=now,
        vet_id=row_key(form, "vet"),
        minutes=whole_number(form, "minutes"),
        outcome=text(form, "outcome"),
        ends_call=not ticked(form, "still_wanted"),
    )
    return f"The advice on call {call.number} is written down."


def _cancel(request: HttpRequest, call_id: int, now: datetime) -> str:
    reason = text(request.POST, "reason")
    call = cancel_call(call_id=call_id, actor=request.user, now=now, reason=reason)
    return f"Call {call.number} is cancelled."


def _resume(request: HttpRequest, call_id: int, now: datetime) -> str:
    return f"Call {resume_call(call_id=call_id, actor=request.user, now=now).number} waits again."


def _farm(request: HttpRequest, call_id: int, now: datetime) -> str:
    farm = row_key(request.POST, "location")
    call = say_farm(call_id=call_id, actor=request.user, now=now, location_id=farm)
    return f"Call {call.number} is about {call.location}."


def _reassess(request: HttpRequest, call_id: int, now: datetime) -> str:
    form = request.POST
    call = reassess(
        call_id=call_id,
        actor=request.user,
        now=now,
        answers=answers_in(form),
        lowered_by_vet_id=row_key(form, "vet"),
        lower_to=text(form, "lower_to") or None,
        reason=text(form, "reason"),
    )
    return f"Call {call.number} is {call.get_urgency_display()}."


STEPS: dict[str, Step] = {
    "assign": _assign,
    "defer": _defer,
    "hand-over": _hand_over,
    "advise": _advise,
    "cancel": _cancel,
    "resume": _resume,
    "farm": _farm,
    "reassess": _reassess,
}

"""One visit on the vet's phone: report where you are, write what you gave."""

from datetime import datetime
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from cases.access import visit_in, withdrawal_in
from cases.models import ReportKind, Visit, VisitState, Withdrawal
from cases.pages.treat import correcting, lists_for
from cases.progress import is_asked_if_fit_to_drive
from cases.services.drive_home import DriveAnswer, say_if_fit, words_of
from cases.services.vet_periods import set_withdrawal
from cases.services.visits import report_progress
from rotas.errors import DeskError
from rotas.models import Role
from rotas.pages.fields import figure, text, whole_number
from rotas.pages.member import member_page, said, told_in_json, wants_json
from rotas.pages.once import done_once
from rotas.pages.pressed import happened

STEPS = (
    (ReportKind.SET_OUT, "I am setting out"),
    (ReportKind.ON_FARM, "I am on the farm"),
    (ReportKind.FINISHED, "I have finished"),
    (ReportKind.HOME, "I am home, safe"),
)
SAID_OF_DRIVE = {
    DriveAnswer.FIT: "Drive carefully. Say when you are home.",
    DriveAnswer.REST: "Rest well. The desk knows, and will ring if it hears nothing for an hour.",
    DriveAnswer.LIFT: "The desk is told that you need a lift. Stay where it is warm; leave the car.",
}
DONE = {VisitState.ACCEPTED: 0, VisitState.SET_OUT: 1, VisitState.ON_FARM: 2, VisitState.FINISHED: 3}
"""How many of the steps lie behind a visit."""


@member_page(Role.VET, Role.RECEPTION)
@require_GET
def show(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Show the visit."""
    visit = visit_in(request.user.practice, visit_id)
    return render(request, "cases/visit.html", _shown(request, visit) | correcting(request, visit))


@member_page(Role.VET, Role.RECEPTION)
@require_GET
def live(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Show where the visit stands, for the page that is open already."""
    visit = visit_in(request.user.practice, visit_id)
    return render(request, "cases/visit_standing.html", _standing(request, visit, timezone.now()))


def _shown(request: HttpRequest, visit: Visit) -> dict[str, Any]:
    practice, location = request.user.practice, visit.location
    return _standing(request, visit, timezone.now()) | {
        "location": location,
        "withdrawals": Withdrawal.objects.for_practice(practice)
        .filter(treatment__visit=visit)
        .exclude(state="replaced")
        .select_related("treatment__medicine", "treatment__animal", "treatment__group"),
        "rechecks": visit.rechecks.order_by("due_at", "step"),
        "is_vet": request.user.holds(Role.VET),
        "form": request.POST,
        **lists_for(practice, visit),
    }


def _standing(request: HttpRequest, visit: Visit, now: datetime) -> dict[str, Any]:
    own = visit.vet.member_id == request.user.pk
    return {
        "visit": visit,
        "own": own,
        "may_report": own or request.user.holds(Role.RECEPTION),
        "steps": _steps(visit),
        "reports": visit.reports.order_by("happened_at"),
        "key": uuid4().hex,
        "now": now,
    } | _drive(visit, now)


def _drive(visit: Visit, now: datetime) -> dict[str, Any]:
    """Return whether to ask how fit the vet is to drive home, and what they said last."""
    if visit.state != VisitState.FINISHED or visit.finished_at is None or visit.home_at is not None:
        return {"asks_if_fit": False}
    local = visit.practice.local
    word = words_of(visit.practice, [visit.pk]).get(visit.pk)
    asks = word is not None or is_asked_if_fit_to_drive(local(visit.finished_at), local(now))
    return {"asks_if_fit": asks, "word": word, "desk_phone": visit.practice.phone}


def _steps(visit: Visit) -> tuple[tuple[ReportKind, str], ...]:
    """Return the reports still to come, with the words on their buttons; the first is next."""
    if visit.state == VisitState.STOOD_DOWN or visit.home_at is not None:
        return ()
    return STEPS[DONE[VisitState(visit.state)] :]


@member_page(Role.VET, Role.RECEPTION)
@require_POST
def report(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Take a report. The page may have kept it while there was no signal: it says when it happened."""
    now, form = timezone.now(), request.POST
    visit = report_progress(
        visit_id=visit_id,
        actor=request.user,
        now=now,
        kind=text(form, "kind"),
        happened_at=happened(form, now),
        key=text(form, "key"),
        minutes=whole_number(form, "minutes") if form.get("minutes") else None,
        note=text(form, "note"),
    )
    return said(request, f"Written down: {visit.get_state_display()}.", f"/visits/{visit.pk}/")


@member_page(Role.VET, Role.RECEPTION)
@require_POST
def drive(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Take the answer whether the vet is fit to drive home."""
    now, form = timezone.now(), request.POST
    answer, pressed = text(form, "answer"), happened(form, now)
    visit = say_if_fit(visit_id=visit_id, actor=request.user, now=now, answer=answer, happened_at=pressed)
    return said(request, SAID_OF_DRIVE[DriveAnswer(answer)], f"/visits/{visit.pk}/")


def refused_on_visit(
    request: HttpRequest, visit: Visit, error: DeskError, at: object, more: dict[str, Any] | None = None
) -> HttpResponse:
    """Show the visit again with the refusal, and everything typed in place; a phone has kept it itself."""
    if wants_json(request):
        return told_in_json(error)
    page = _shown(request, visit) | {"error": error, "at": at} | (more or {})
    return render(request, "cases/visit.html", page, status=error.status)


@member_page(Role.VET)
@require_POST
def sign(request: HttpRequest, withdrawal_id: int) -> HttpResponse:
    """Let the vet write the period that the label leaves open."""
    now = timezone.now()
    visit_id = withdrawal_in(request.user.practice, withdrawal_id).treatment.visit_id
    try:
        return done_once(request, now, lambda: _sign(request, withdrawal_id, now))
    except DeskError as error:
        return refused_on_visit(request, visit_in(request.user.practice, visit_id), error, withdrawal_id)


def _sign(request: HttpRequest, withdrawal_id: int, now: datetime) -> tuple[str, str]:
    row = set_withdrawal(
        withdrawal_id=withdrawal_id,
        actor=request.user,
        now=now,
        hours=figure(request.POST, "hours"),
        reason=text(request.POST, "reason"),
    )
    return f"Signed: {row.period_hours} h from the last dose.", f"/visits/{row.treatment.visit_id}/#dates"

"""One visit on the vet's phone: report where you are, write what you gave."""

from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_GET, require_POST

from cases.access import visit_in
from cases.models import LabelPeriod, Medicine, ReportKind, Visit, VisitState, Withdrawal
from cases.services.treatments import record_treatment, set_withdrawal
from cases.services.visits import report_progress
from rotas.errors import BadInput, DeskError
from rotas.models import Role
from rotas.pages.member import member_page, said

NEXT = {
    VisitState.ACCEPTED: (ReportKind.SET_OUT, "I am setting out"),
    VisitState.SET_OUT: (ReportKind.ON_FARM, "I am on the farm"),
    VisitState.ON_FARM: (ReportKind.FINISHED, "I have finished"),
}


@member_page(Role.VET, Role.RECEPTION)
@require_GET
def show(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Show the visit."""
    return render(request, "cases/visit.html", _shown(request, visit_in(request.user.practice, visit_id)))


def _shown(request: HttpRequest, visit: Visit) -> dict[str, Any]:
    practice, location = request.user.practice, visit.location
    periods = LabelPeriod.objects.for_practice(practice)
    return {
        "visit": visit,
        "location": location,
        "next": _next(visit),
        "own": visit.vet.member_id == request.user.pk,
        "reports": visit.reports.order_by("happened_at"),
        "treatments": visit.treatments.select_related("medicine", "animal", "group").order_by("recorded_at"),
        "withdrawals": Withdrawal.objects.for_practice(practice)
        .filter(treatment__visit=visit)
        .exclude(state="replaced")
        .select_related("treatment__medicine", "treatment__animal", "treatment__group"),
        "rechecks": visit.rechecks.order_by("due_at", "step"),
        "medicines": Medicine.objects.for_practice(practice).filter(active=True).order_by("substance"),
        "routes": periods.order_by("route").values_list("route", flat=True).distinct(),
        "animals": location.animals.filter(ended_at=None).order_by("tag") if location else [],
        "groups": location.groups.filter(ended_at=None).order_by("name") if location else [],
        "key": uuid4().hex,
        "now": timezone.now(),
        "form": request.POST,
    }


def _next(visit: Visit) -> tuple[str, str] | None:
    """Return the report that comes next and the words on its button."""
    if visit.state in NEXT:
        kind, words = NEXT[VisitState(visit.state)]
        return str(kind), words
    if visit.state == VisitState.FINISHED and visit.home_at is None:
        return str(ReportKind.HOME), "I am home, safe"
    return None


@member_page(Role.VET, Role.RECEPTION)
@require_POST
def report(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Take a report. The page may have kept it while there was no signal: it says when it happened."""
    now, form = timezone.now(), request.POST
    minutes = form.get("minutes", "")
    visit = report_progress(
        visit_id=visit_id,
        actor=request.user,
        now=now,
        kind=form.get("kind", ""),
        happened_at=_instant(form.get("happened_at", ""), now),
        key=form.get("key", ""),
        minutes=int(minutes) if minutes.isascii() and minutes.isdigit() and len(minutes) < 5 else None,
        note=form.get("note", ""),
    )
    if request.headers.get("Accept") == "application/json":
        return JsonResponse({"visit": visit.pk, "state": visit.state})
    return said(request, f"Written down: {visit.get_state_display()}.", f"/visits/{visit.pk}/")


def _instant(text: str, now: datetime) -> datetime:
    if not text:
        return now
    try:
        instant = parse_datetime(text)
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None:
        raise BadInput(field="happened_at", problem="this is no moment in time. Load the page again.")
    return instant


@member_page(Role.VET)
@require_POST
def treat(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Write what was given; a refusal shows the page again with everything typed in place."""
    now, form = timezone.now(), request.POST
    visit = visit_in(request.user.practice, visit_id)
    try:
        given = _local(request, "first_given_at", now)
        treatment = record_treatment(
            visit_id=visit.pk,
            actor=request.user,
            now=now,
            medicine_id=form.get("medicine"),
            route=form.get("route", ""),
            dose_amount=_figure(form.get("dose_amount", ""), "dose_amount"),
            dose_unit=form.get("dose_unit", ""),
            first_given_at=given,
            last_given_at=_local(request, "last_given_at", given),
            doses=int(_figure(form.get("doses") or "1", "doses")),
            animal_id=form.get("animal") or None,
            group_id=form.get("group") or None,
            tag=form.get("tag", ""),
            species=form.get("species", ""),
            farm_number=form.get("farm_number", ""),
            in_milk=form.get("in_milk") == "yes",
            batch=form.get("batch", ""),
            off_label=form.get("off_label") == "yes",
            off_label_reason=form.get("off_label_reason", ""),
            marks=form.get("marks", ""),
        )
    except DeskError as error:
        page = _shown(request, visit) | {"error": error}
        return render(request, "cases/visit.html", page, status=error.status)
    return said(request, f"Written down: {treatment}. The dates are below.", f"/visits/{visit.pk}/#dates")


def _figure(text: str, field: str) -> Decimal:
    try:
        figure = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        figure = Decimal(0)
    if not figure.is_finite() or figure <= 0:
        raise BadInput(field=field, problem="write a figure above zero, such as 12.5.")
    return figure


def _local(request: HttpRequest, field: str, otherwise: datetime) -> datetime:
    """Return the field's time on the practice's clock; empty means `otherwise`."""
    text = request.POST.get(field, "")
    if not text:
        return otherwise
    try:
        typed = parse_datetime(text)
    except ValueError:
        typed = None
    if typed is None:
        raise BadInput(field=field, problem="write a day and a time.")
    return typed if typed.tzinfo else typed.replace(tzinfo=request.user.practice.tz)


@member_page(Role.VET)
@require_POST
def sign(request: HttpRequest, withdrawal_id: int) -> HttpResponse:
    """Let the vet write the period that the label leaves open."""
    row = set_withdrawal(
        withdrawal_id=withdrawal_id,
        actor=request.user,
        now=timezone.now(),
        hours=_figure(request.POST.get("hours", ""), "hours"),
        reason=request.POST.get("reason", ""),
    )
    return said(request, "Signed.", f"/visits/{row.treatment.visit_id}/#dates")

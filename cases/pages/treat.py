"""Writing a treatment on the vet's phone: what warns is shown before anything is written down."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from hashlib import sha256
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST

from cases.access import treatment_in, visit_in
from cases.medicines.completeness import Missing
from cases.medicines.vocabulary import ANIMAL_CLASSES
from cases.models import Batch, LabelPeriod, Medicine, Treatment, Visit
from cases.services.cautions import Shown, dose_in_words
from cases.services.completeness import missing_of
from cases.services.treatments import look_at_treatment, record_treatment
from rotas.errors import BadInput, DeskError
from rotas.models import Practice, Role
from rotas.pages.fields import day_if_said, figure, local_time, row_key, text, ticked, whole_number
from rotas.pages.member import member_page, told_in_json, wants_json
from rotas.pages.once import done_once
from rotas.pages.pressed import happened_since

WANTED = ("medicine", "route", "dose_amount", "dose_unit")
WHOM = ("animal", "group", "tag")
KNOWN_BY = (("scales", "scales"), ("band", "weigh band"), ("guess", "a guess"))
TYPED = "%Y-%m-%dT%H:%M"
STILL_NOW = timedelta(minutes=2)  # a press that is answered this soon was not kept for want of signal


class ReadFirst(DeskError):
    """Warnings that were not on the page when the button was pressed."""

    code = "read_first"
    title = "Read this first"
    message = "Nothing is written down yet. Read what warns below, and press once more."


@dataclass(frozen=True)
class Line:
    """One treatment as the page lists it."""

    row: Treatment
    dose: str
    missing: tuple[Missing, ...]
    corrected: bool


def lists_for(practice: Practice, visit: Visit) -> dict[str, Any]:
    """Return what the form chooses from, and what was given."""
    location = visit.location
    periods = LabelPeriod.objects.for_practice(practice)
    batches = Batch.objects.for_practice(practice).filter(ended_at=None, medicine__active=True)
    return {
        "given": _lines(visit),
        "medicines": Medicine.objects.for_practice(practice)
        .filter(active=True)
        .order_by("substance", "strength"),
        "routes": periods.order_by("route").values_list("route", flat=True).distinct(),
        "batches": batches.select_related("medicine").order_by("medicine__substance", "expires_on"),
        "animals": location.animals.filter(ended_at=None).order_by("tag") if location else [],
        "groups": location.groups.filter(ended_at=None).order_by("name") if location else [],
        "species": [(word, word) for word in location.species] if location else [],
        "classes": list(ANIMAL_CLASSES.items()),
        "known_by": KNOWN_BY,
    }


def _lines(visit: Visit) -> list[Line]:
    rows = visit.treatments.select_related(
        "medicine", "animal", "group", "location__client", "corrected_by", "not_given"
    )
    return [
        Line(row, dose_in_words(row), missing_of(row), hasattr(row, "corrected_by"))
        for row in rows.prefetch_related("withdrawals").order_by("recorded_at", "pk")
    ]


def correcting(request: HttpRequest, visit: Visit) -> dict[str, Any]:
    """Return the form filled with the treatment that the address asks to correct, if it does."""
    key = row_key(request.GET, "corrects")
    if key is None:
        return {}
    old = treatment_in(request.user.practice, key)
    return {"form": _as_form(old), "at": "treat", "corrects": old} if old.visit_id == visit.pk else {}


def _as_form(old: Treatment) -> dict[str, str]:
    local = old.practice.local
    plain = (
        "route", "dose_unit", "doses", "batch", "marks", "weight_known_by", "animal_class", "given_by",
        "diagnosis", "off_label_reason",
    )  # fmt: skip
    return {
        **{name: str(getattr(old, name)) for name in plain},
        "corrects": str(old.pk),
        "medicine": str(old.medicine_id),
        "animal": str(old.animal_id or ""),
        "group": str(old.group_id or ""),
        "dose_amount": f"{old.dose_amount.normalize():f}",
        "weight_kg": "" if old.weight_kg is None else f"{old.weight_kg.normalize():f}",
        "first_given_at": local(old.first_given_at).strftime(TYPED),
        "last_given_at": local(old.last_given_at).strftime(TYPED),
        "examined_on": old.examined_on.isoformat() if old.examined_on else "",
        "off_label": "yes" if old.off_label else "",
    }


@member_page(Role.VET)
@require_POST
def check(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Show what warns of the treatment that is being typed. Writes nothing."""
    visit, form = visit_in(request.user.practice, visit_id), request.POST
    page: dict[str, Any] = {"form": form}
    complete = all(form.get(name, "").strip() for name in WANTED) and any(form.get(name) for name in WHOM)
    if complete:
        try:
            page |= shown_part(_look(request, visit, timezone.now()))
        except DeskError as error:
            page["problem"] = error
    return render(request, "cases/treat_cautions.html", page)


def shown_part(shown: Shown) -> dict[str, Any]:
    """Return what the part of the page with the warnings needs."""
    return {"shown": shown, "seen": seen_of(shown)}


def seen_of(shown: Shown) -> str:
    """Return the mark by which a page proves that exactly these warnings stood on it."""
    said = "\n".join(caution.sentence for caution in shown.cautions)
    return sha256(said.encode()).hexdigest()[:16]


@member_page(Role.VET)
@require_POST
def treat(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Write what was given; a refusal shows the page again with everything typed in place."""
    now = timezone.now()
    visit = visit_in(request.user.practice, visit_id)
    try:
        return done_once(request, now, lambda: _treat(request, visit, now))
    except DeskError as error:
        return _refused(request, visit, error, now)


def _treat(request: HttpRequest, visit: Visit, now: datetime) -> tuple[str, str]:
    shown = _look(request, visit, now)
    if shown.cautions and request.POST.get("seen") != seen_of(shown):
        raise ReadFirst
    said = _said(request, now)
    treatment = record_treatment(visit_id=visit.pk, actor=request.user, now=now, **said)
    return f"Written down: {treatment}. The dates are below.", f"/visits/{visit.pk}/#dates"


def _look(request: HttpRequest, visit: Visit, now: datetime) -> Shown:
    return look_at_treatment(visit_id=visit.pk, actor=request.user, now=now, **_said(request, now))


def _refused(request: HttpRequest, visit: Visit, error: DeskError, now: datetime) -> HttpResponse:
    from cases.pages.visit import refused_on_visit  # that page shows this form, and so imports this module

    shown: Shown | None
    try:
        shown = _look(request, visit, now)
    except DeskError:
        shown = None
    if wants_json(request):
        return _kept_and_refused(request, error, shown, now)
    return refused_on_visit(request, visit, error, "treat", shown_part(shown) if shown else {})


def _kept_and_refused(
    request: HttpRequest, error: DeskError, shown: Shown | None, now: datetime
) -> JsonResponse:
    """Tell the phone why it has to keep what was typed, what warns of it, and what belongs into the form.

    "Given" left empty meant the moment of the press; sent a while later, it has to say so itself.
    """
    said = [each.sentence for each in shown.cautions] if shown else []
    return told_in_json(
        error,
        warnings=[sentence for sentence in said if sentence not in error.sentence],
        fill=_pressed_then(request, now),
    )


def _pressed_then(request: HttpRequest, now: datetime) -> dict[str, str]:
    try:
        given = happened_since(request.POST, now)
    except BadInput:
        return {}
    if request.POST.get("first_given_at") or now - given <= STILL_NOW:
        return {}
    minute = given.replace(second=0, microsecond=0) + timedelta(minutes=1)  # never a little earlier
    return {"first_given_at": request.user.practice.local(minute).strftime(TYPED)}


def _said(request: HttpRequest, now: datetime) -> dict[str, Any]:
    """Return what the form says under the names of the service."""
    form, zone = request.POST, request.user.practice.tz
    corrects = row_key(form, "corrects")
    old = None if corrects is None else treatment_in(request.user.practice, corrects)
    given = _moment(form, "first_given_at", zone, now, old, happened_since(form, now))
    return {
        "medicine_id": row_key(form, "medicine"),
        "route": text(form, "route", 40),
        "dose_amount": figure(form, "dose_amount"),
        "dose_unit": text(form, "dose_unit", 12),
        "first_given_at": given,
        "last_given_at": _moment(form, "last_given_at", zone, now, old, given),
        "doses": whole_number(form, "doses", otherwise=1),
        "animal_id": row_key(form, "animal"),
        "group_id": row_key(form, "group"),
        "tag": text(form, "tag", 40),
        "species": text(form, "species"),
        "farm_number": text(form, "farm_number", 20),
        "in_milk": ticked(form, "in_milk"),
        "animal_class": text(form, "animal_class", 40),
        "weight_kg": figure(form, "weight_kg") if form.get("weight_kg", "").strip() else None,
        "weight_known_by": text(form, "weight_known_by", 6),
        "batch": text(form, "batch", 60),
        "given_by": text(form, "given_by", 120),
        "diagnosis": text(form, "diagnosis"),
        "examined_on": day_if_said(form, "examined_on"),
        "off_label": ticked(form, "off_label"),
        "off_label_reason": text(form, "off_label_reason"),
        "override_reason": text(form, "override_reason"),
        "marks": text(form, "marks", 120),
        "corrects_id": corrects,
        "signs_shorter": ticked(form, "signs_shorter"),
    }


def _moment(
    form: QueryDict, field: str, zone: tzinfo, now: datetime, old: Treatment | None, otherwise: datetime
) -> datetime:
    """Return a moment as typed; one left as it stood is the old one to the second, never a little earlier."""
    before = None if old is None else getattr(old, field)
    if before is not None and form.get(field) == before.astimezone(zone).strftime(TYPED):
        return before
    return local_time(form, field, zone, otherwise=otherwise, by=now)

"""The record of an operation on the vet's phone, and how the practice's own operations went."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from cases.access import procedure_in, visit_in
from cases.models import ConsentHow, IfWorse, ProcedureOutcome, ProcedureRecord
from cases.procedures import outcomes
from cases.procedures.findings import worse_chances
from cases.procedures.tables import Procedure, procedures
from cases.services.operations import Used, write_operation, write_outcome
from cases.services.procedures import (
    known_procedure,
    open_procedure,
    tell_aftercare,
    write_consent,
    write_findings,
    write_not_done,
)
from rotas.access import require_role
from rotas.errors import BadInput, DeskError
from rotas.models import Kit, KitState, Role, Vet
from rotas.pages.fields import figure, local_time, row_key, text, whole_number
from rotas.pages.member import member_page, wants_json
from rotas.pages.once import done_once
from rotas.pages.pressed import happened

SHOWN = 100


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def every(request: HttpRequest) -> HttpResponse:
    """Show the outcomes that are owed, and what the practice's own operations came to."""
    practice, now = request.user.practice, timezone.now()
    rows = ProcedureOutcome.objects.for_practice(practice).select_related("record__animal__location")
    answered = rows.select_related("record").order_by("day")
    page = {
        "owed": rows.filter(outcome="", asked_at__lte=now).order_by("asked_at")[:SHOWN],
        "figures": outcomes.figures(
            (_method(row.record), row.day, outcomes.Outcome(row.outcome) if row.outcome else None)
            for row in answered
        ),
        "records": ProcedureRecord.objects.for_practice(practice)
        .select_related("animal", "location", "surgeon__member")
        .order_by("-recorded_at")[:SHOWN],
        "choices": list(outcomes.WORDS.items()),
        "now": now,
    }
    return render(request, "cases/procedures.html", page)


def _method(record: ProcedureRecord) -> str:
    """Return the method as the table names it, so that a vet's own words for it count with it."""
    known = procedures()[record.kind].method(record.method)
    return known.words if known else record.method_words


@member_page(Role.VET)
@require_GET
def begin(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Show the form with which a record is begun: the kind first, then what to look for in it."""
    return render(request, "cases/procedure_begin.html", _beginning(request, visit_id))


def _beginning(request: HttpRequest, visit_id: int) -> dict[str, Any]:
    visit = visit_in(request.user.practice, visit_id)
    form, kind = request.POST, text(request.GET, "kind")
    return {
        "visit": visit,
        "location": visit.location,
        "animals": visit.location.animals.filter(ended_at=None).order_by("tag") if visit.location else [],
        "kinds": [(each.code, each.words) for each in procedures().values()],
        "procedure": known_procedure(kind) if kind else None,
        "form": form,
        "now": timezone.now(),
        **_typed(form),
    }


def _typed(form: QueryDict) -> dict[str, Any]:
    """Return what was typed of findings and options, to be shown again."""
    return {
        "found_now": {
            name.removeprefix("finding-"): form[name] for name in form if name.startswith("finding-")
        },
        "options_now": [name.removeprefix("option-") for name in form if name.startswith("option-")],
        "problems_now": form.get("problems", ""),
        "options_note_now": form.get("options_note", ""),
    }


def _stands(record: ProcedureRecord) -> dict[str, Any]:
    """Return the same of what stands on record."""
    return {
        "found_now": record.findings,
        "options_now": record.options,
        "problems_now": record.problems,
        "options_note_now": record.options_note,
    }


@member_page(Role.VET)
@require_POST
def open_record(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Begin the record."""
    now = timezone.now()
    visit_in(request.user.practice, visit_id)
    try:
        return done_once(request, now, lambda: _open(request, visit_id, now))
    except DeskError as error:
        if wants_json(request) or text(request.GET, "kind") not in procedures():
            raise
        page = _beginning(request, visit_id) | {"error": error}
        return render(request, "cases/procedure_begin.html", page, status=error.status)


def _open(request: HttpRequest, visit_id: int, now: datetime) -> tuple[str, str]:
    form = request.POST
    procedure = known_procedure(text(request.GET, "kind"))
    record = open_procedure(
        visit_id=visit_id,
        actor=request.user,
        now=now,
        kind=procedure.code,
        animal_id=row_key(form, "animal"),
        **_found(form, procedure),
    )
    return f"The record of {record.animal} is begun.", f"/procedures/{record.pk}/"


def _found(form: QueryDict, procedure: Procedure) -> dict[str, Any]:
    return {
        "findings": {each.code: text(form, f"finding-{each.code}") for each in procedure.findings},
        "problems": text(form, "problems"),
        "options": [each.code for each in procedure.methods if form.get(f"option-{each.code}") == "yes"],
        "options_note": text(form, "options_note"),
    }


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest, record_id: int) -> HttpResponse:
    """Show the record from the first finding to the last outcome."""
    return render(request, "cases/procedure.html", _shown(request, record_id))


def _shown(request: HttpRequest, record_id: int) -> dict[str, Any]:
    practice = request.user.practice
    record = procedure_in(practice, record_id)
    procedure = procedures()[record.kind]
    owed = list(record.outcomes.order_by("day"))
    given = record.visit.treatments.filter(animal=record.animal).select_related("medicine")
    return {
        "record": record,
        "procedure": procedure,
        "found": [(each, record.findings.get(each.code, "")) for each in procedure.findings],
        "talked": [each for each in procedure.methods if each.code in record.options],
        "worse": worse_chances(procedure, record.findings),
        "given": given.order_by("first_given_at"),
        "kit_used": record.kit_used.select_related("kit").order_by("pk"),
        "outcomes": [(row, outcomes.WORDS.get(row.outcome, "")) for row in owed],
        "day": request.POST.get("day") or next((f"{row.day}" for row in owed if not row.outcome), ""),
        "choices": list(outcomes.WORDS.items()),
        "hows": ConsentHow.choices,
        "if_worse": IfWorse.choices,
        "vets": Vet.objects.for_practice(practice).filter(active=True).select_related("member"),
        "kit": Kit.objects.for_practice(practice).select_related("vet__member").order_by("kind", "pk"),
        "next_states": KitState.choices,
        "words": record.aftercare_words or "\n".join(procedure.aftercare),
        "own": request.user.holds(Role.VET),
        "form": request.POST,
        "now": timezone.now(),
        **(_typed(request.POST) if "problems" in request.POST else _stands(record)),
    }


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def step(request: HttpRequest, record_id: int, name: str) -> HttpResponse:
    """Write one step of the record: what was found anew, consent, operation, words, outcome."""
    now = timezone.now()
    if name not in BY_THE_DESK_TOO:
        require_role(request.user, Role.VET)
    procedure_in(request.user.practice, record_id)
    try:
        return done_once(request, now, lambda: _step(request, record_id, name, now))
    except DeskError as error:
        if wants_json(request):
            raise
        page = _shown(request, record_id) | {"error": error, "at": name}
        return render(request, "cases/procedure.html", page, status=error.status)


def _step(request: HttpRequest, record_id: int, name: str, now: datetime) -> tuple[str, str]:
    who = {"record_id": record_id, "actor": request.user, "now": now}
    said = STEPS[name](request, who)
    return said, f"/procedures/{record_id}/#{name}"


def _findings(request: HttpRequest, who: dict[str, Any]) -> str:
    form, record = request.POST, procedure_in(request.user.practice, who["record_id"])
    write_findings(**who, **_found(form, procedures()[record.kind]), reason=text(form, "reason"))
    return "Put right."


def _consent(request: HttpRequest, who: dict[str, Any]) -> str:
    form, tz = request.POST, request.user.practice.tz
    write_consent(
        **who,
        by=text(form, "by", 120),
        how=text(form, "how"),
        at=local_time(form, "at", tz, otherwise=happened(form, who["now"])),
        ceiling=_money(form),
        if_worse=text(form, "if_worse"),
        reason=text(form, "reason"),
    )
    return "Agreed, and written down."


def _money(form: QueryDict) -> Decimal | None:
    return figure(form, "ceiling") if text(form, "ceiling") else None


def _operation(request: HttpRequest, who: dict[str, Any]) -> str:
    form, tz = request.POST, request.user.practice.tz
    write_operation(
        **who,
        method=text(form, "method", 40),
        method_words=text(form, "method_words", 200),
        started_at=local_time(form, "started_at", tz),
        ended_at=local_time(form, "ended_at", tz),
        surgeon_id=row_key(form, "surgeon"),
        second_surgeon_id=row_key(form, "second_surgeon"),
        assistants=text(form, "assistants", 200),
        kit=_kit(form, tz),
        notes=text(form, "notes"),
        without_consent=text(form, "without_consent"),
        against_method=text(form, "against_method"),
        reason=text(form, "reason"),
    )
    return "Done, and written down."


def _kit(form: QueryDict, tz: Any) -> list[Used]:
    key, state = row_key(form, "kit"), text(form, "next_state")
    ready_at = local_time(form, "ready_at", tz) if text(form, "ready_at") else None
    if state and state not in KitState.values:
        raise BadInput(field="next_state", problem="choose one from the list.")
    return [] if key is None else [Used(key, state, ready_at)]


def _not_done(request: HttpRequest, who: dict[str, Any]) -> str:
    write_not_done(**who, why=text(request.POST, "why"))
    return "Written down: not done."


def _aftercare(request: HttpRequest, who: dict[str, Any]) -> str:
    tell_aftercare(**who, words=text(request.POST, "words"))
    return "The farm is told in writing. Go through it with them before you leave."


def _outcome(request: HttpRequest, who: dict[str, Any]) -> str:
    form = request.POST
    write_outcome(
        **who,
        day=whole_number(form, "day"),
        outcome=text(form, "outcome"),
        words=text(form, "words"),
        reason=text(form, "reason"),
    )
    return "The outcome is written down."


BY_THE_DESK_TOO = ("aftercare", "outcome")
STEPS = {
    "findings": _findings,
    "consent": _consent,
    "operation": _operation,
    "not-done": _not_done,
    "aftercare": _aftercare,
    "outcome": _outcome,
}

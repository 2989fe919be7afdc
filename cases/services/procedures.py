"""The record of a procedure, step by step: found, agreed, done, told, and how it went.

A step that is written once more needs its reason; what stood there before is kept.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from cases.access import animal_in, procedure_for_update, visit_for_update
from cases.errors import NoFarmYet, WrongFarm
from cases.models import Animal, ConsentHow, IfWorse, Location, ProcedureRecord, ProcedureState, Visit
from cases.procedures.findings import FindingError, checked
from cases.procedures.tables import Procedure, procedures
from cases.services.farm_letters import letter_to_farm
from cases.services.said import required
from rotas.access import require_role, vet_of
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import Member, Role
from rotas.services.telling import tell

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
MOST_MONEY = Decimal(1_000_000)
CLOSED = "It is on record that this was not done. If it is done after all, open a record at a new visit."


@transaction.atomic
def open_procedure(
    *,
    visit_id: Any,
    actor: Member,
    now: datetime,
    kind: str,
    animal_id: Any,
    findings: Mapping[str, str],
    problems: str = "",
    options: list[str] | None = None,
    options_note: str = "",
) -> ProcedureRecord:
    """Begin the record of one animal: what was found, and which ways were talked through with the owner."""
    require_role(actor, Role.VET)
    vet_of(actor)
    visit = visit_for_update(actor.practice, visit_id)
    animal = _animal_here(visit, animal_id)
    procedure = known_procedure(kind)
    if ProcedureRecord.objects.filter(visit=visit, animal=animal, kind=kind).exists():
        raise AlreadyDone(f"{procedure.words} of {animal} is on this visit's record. Open that record.")
    record = ProcedureRecord.objects.create(
        practice=visit.practice,
        visit=visit,
        location=animal.location,
        animal=animal,
        kind=kind,
        findings=_checked(procedure, findings),
        problems=problems.strip(),
        options=_options(procedure, options or []),
        options_note=options_note.strip(),
        recorded_at=now,
        recorded_by=actor,
    )
    tell_step(
        record, actor, now, "procedure_opened", f"{procedure.words}, {animal}: found and talked through"
    )
    return record


def known_procedure(kind: str) -> Procedure:
    """Return the row of the table."""
    if kind not in procedures():
        raise BadInput(field="kind", problem=f"choose one of {', '.join(procedures())}.")
    return procedures()[kind]


def _animal_here(visit: Visit, animal_id: Any) -> Animal:
    location = _farm(visit)
    animal = animal_in(visit.practice, animal_id)
    if animal.location_id != location.pk:
        raise WrongFarm(field="animal", what=str(animal), farm=animal.location.name)
    return animal


def _farm(visit: Visit) -> Location:
    if visit.location is None:
        raise NoFarmYet(number=visit.call.number if visit.call else "")
    return visit.location


def _checked(procedure: Procedure, findings: Mapping[str, str]) -> dict[str, str]:
    try:
        return checked(procedure, findings)
    except FindingError as error:
        raise BadInput(field=error.finding, problem=f"{error}") from error


def _options(procedure: Procedure, options: list[str]) -> list[str]:
    unknown = [code for code in options if procedure.method(code) is None]
    if unknown:
        raise BadInput(field="options", problem=f"{unknown[0]} is no method of {procedure.words}.")
    return [method.code for method in procedure.methods if method.code in options]


@transaction.atomic
def write_findings(
    *,
    record_id: Any,
    actor: Member,
    now: datetime,
    findings: Mapping[str, str],
    reason: str,
    problems: str = "",
    options: list[str] | None = None,
    options_note: str = "",
) -> ProcedureRecord:
    """Put right what was found or talked through. The row that stood there before is kept."""
    require_role(actor, Role.VET)
    record = procedure_for_update(actor.practice, record_id)
    why = required(reason, "reason", "say what was wrong in it.")
    procedure = known_procedure(record.kind)
    before = {"findings": record.findings, "options": record.options}
    record.findings, record.problems = _checked(procedure, findings), problems.strip()
    record.options, record.options_note = _options(procedure, options or []), options_note.strip()
    record.save()
    tell_step(record, actor, now, "procedure_findings", "Findings put right", reason=why, before=before)
    return record


@transaction.atomic
def write_consent(
    *,
    record_id: Any,
    actor: Member,
    now: datetime,
    by: str,
    how: str,
    at: datetime,
    if_worse: str,
    ceiling: Decimal | None = None,
    reason: str = "",
) -> ProcedureRecord:
    """Write who agreed, how and when, up to what cost, and what to do if it is worse inside."""
    require_role(actor, Role.VET)
    record = procedure_for_update(actor.practice, record_id)
    _refuse_not_done(record)
    before = _again(record.consent_at, reason, {"by": record.consent_by, "at": record.consent_at})
    if how not in ConsentHow.values or if_worse not in IfWorse.values:
        raise BadInput(field="how", problem="choose how consent was given and what to do if it is worse.")
    if ceiling is not None and not 0 <= ceiling < MOST_MONEY:
        raise BadInput(field="ceiling", problem="write a sum from 0 to a million, or leave it empty.")
    if at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="at")
    record.consent_by = required(by, "by", "say who agreed; it has to be somebody who may.")
    record.consent_how, record.consent_at = how, at
    record.consent_ceiling, record.if_worse = ceiling, if_worse
    if record.state == ProcedureState.TALK:
        record.state = ProcedureState.AGREED
    record.save()
    sentence = (
        f"{record.consent_by} agreed, {record.get_consent_how_display()}; {record.get_if_worse_display()}"
    )
    tell_step(record, actor, now, "procedure_agreed", sentence, reason=reason.strip(), before=before)
    return record


def _again(written: datetime | None, reason: str, stood: dict[str, Any]) -> dict[str, Any] | None:
    """Return what stood there; writing over it needs its reason."""
    if written is None:
        return None
    required(reason, "reason", "this is on record already. Say why you write it anew.")
    return stood


def _refuse_not_done(record: ProcedureRecord) -> None:
    if record.state == ProcedureState.NOT_DONE:
        raise AlreadyDone(CLOSED)


@transaction.atomic
def write_not_done(*, record_id: Any, actor: Member, now: datetime, why: str) -> ProcedureRecord:
    """Close a record without a procedure: refused, referred, got better, died before."""
    require_role(actor, Role.VET)
    record = procedure_for_update(actor.practice, record_id)
    if record.state == ProcedureState.DONE:
        raise AlreadyDone("It is on record as done. Put that right there, with the reason.")
    record.not_done_why = required(why, "why", "say why it was not done.")
    record.state = ProcedureState.NOT_DONE
    record.save()
    tell_step(record, actor, now, "procedure_not_done", "Not done", reason=record.not_done_why)
    return record


@transaction.atomic
def tell_aftercare(*, record_id: Any, actor: Member, now: datetime, words: str) -> ProcedureRecord:
    """Keep the words for the farmer and put them in the outbox, in writing, before the vet leaves."""
    require_role(actor, Role.VET, Role.RECEPTION)
    record = procedure_for_update(actor.practice, record_id)
    record.aftercare_words = required(words, "words", "write what the farm has to look for.")
    record.aftercare_told_at = now
    record.save(update_fields=["aftercare_words", "aftercare_told_at"])
    procedure = known_procedure(record.kind)
    letter_to_farm(
        record.location,
        key=f"procedure:{record.pk}:{now.isoformat()}",
        subject=f"after {procedure.words.lower()}, what to look for",
        lines=[f"{record.animal}, {procedure.words}.", "", *record.aftercare_words.splitlines()],
        not_before=now,
        about_milk=record.animal.in_milk,
    )
    tell_step(record, actor, now, "procedure_told", "Told the farm what to look for")
    return record


def tell_step(
    record: ProcedureRecord,
    actor: Member,
    now: datetime,
    verb: str,
    sentence: str,
    *,
    reason: str = "",
    before: dict[str, Any] | None = None,
) -> None:
    """Write the story's line of one step."""
    tell(
        practice=record.practice,
        now=now,
        verb=verb,
        subject=record,
        topic="aftercare",
        actor=actor,
        sentence=f"{record.location.name}, {record.animal}: {sentence}",
        reason=reason,
        before=before,
        after={"state": record.state},
    )

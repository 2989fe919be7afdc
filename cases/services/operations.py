"""What was done: by which method, when, by whom, with which kit; and how it went afterwards."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from cases.access import procedure_for_update
from cases.models import ProcedureKit, ProcedureOutcome, ProcedureRecord, ProcedureState
from cases.procedures.findings import stands_against
from cases.procedures.outcomes import WORDS, Outcome, asked_on
from cases.procedures.tables import procedures
from cases.services.procedures import CLOCKS_MAY_DIFFER, CLOSED, tell_step
from cases.services.said import required
from rotas.access import find, require_role, vet_in, vet_of
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import Kit, KitState, Member, Role, Vet
from rotas.services.vets import move_kit

LONGEST = timedelta(hours=12)  # one procedure; longer is a slip of the pen [cp]


@dataclass(frozen=True)
class Used:
    """A piece of kit that was used, and what happens to it next; `ready_at` while it is sterilised."""

    kit_id: Any
    next_state: str = KitState.USED
    ready_at: datetime | None = None


@transaction.atomic
def write_operation(
    *,
    record_id: Any,
    actor: Member,
    now: datetime,
    method: str,
    started_at: datetime,
    ended_at: datetime,
    method_words: str = "",
    surgeon_id: Any = None,
    second_surgeon_id: Any = None,
    assistants: str = "",
    kit: Iterable[Used] = (),
    notes: str = "",
    without_consent: str = "",
    against_method: str = "",
    reason: str = "",
) -> ProcedureRecord:
    """Write what was done. Begun before consent was on record, or against the table, it needs its reason.

    The outcomes that the table asks for are owed from then on.
    """
    require_role(actor, Role.VET)
    record = procedure_for_update(actor.practice, record_id)
    if record.state == ProcedureState.NOT_DONE:
        raise AlreadyDone(CLOSED)
    before = _stood(record, reason)
    _check_times(started_at, ended_at, now)
    _check_consent(record, started_at, without_consent)
    record.method, record.method_words = method, _words(record, method, method_words)
    record.against_method = _check_method(record, method, against_method)
    record.without_consent = without_consent.strip()
    record.started_at, record.ended_at = started_at, ended_at
    record.surgeon = vet_of(actor) if surgeon_id is None else vet_in(actor.practice, surgeon_id)
    record.second_surgeon = _second(record, second_surgeon_id)
    record.assistants, record.notes = assistants.strip(), notes.strip()
    record.state = ProcedureState.DONE
    record.save()
    _use(record, kit, actor, now)
    _ask_for_outcomes(record)
    sentence = f"Done: {record.method_words}, by {record.surgeon}"
    tell_step(record, actor, now, "procedure_done", sentence, reason=reason.strip(), before=before)
    return record


def _stood(record: ProcedureRecord, reason: str) -> dict[str, Any] | None:
    if record.state != ProcedureState.DONE:
        return None
    required(reason, "reason", "this is on record already. Say why you write it anew.")
    return {"method": record.method_words, "started_at": record.started_at, "ended_at": record.ended_at}


def _check_times(started_at: datetime, ended_at: datetime, now: datetime) -> None:
    if ended_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="ended_at")
    if not timedelta(0) < ended_at - started_at <= LONGEST:
        raise BadInput(
            field="ended_at", problem="it ends after it starts, and within 12 hours. Check the times."
        )


def _check_consent(record: ProcedureRecord, started_at: datetime, why: str) -> None:
    """Refuse a start that no consent precedes, unless the vet says why: to save life, say."""
    if record.consent_at is not None and record.consent_at <= started_at:
        return
    problem = "no consent is on record from before the start. Write who agreed, or say why it could not wait."
    required(why, "without_consent", problem)


def _words(record: ProcedureRecord, method: str, words: str) -> str:
    known = procedures()[record.kind].method(method)
    if method and known is None:
        raise BadInput(field="method", problem="choose one of the methods, or leave it and write your own.")
    return words.strip() or (known.words if known else required(words, "method_words", "say what was done."))


def _check_method(record: ProcedureRecord, method: str, why: str) -> str:
    known = procedures()[record.kind].method(method)
    against = stands_against(known, record.findings) if known else ""
    if not against:
        return why.strip()
    return required(why, "against_method", f"{against} Say why it was done all the same.")


def _second(record: ProcedureRecord, vet_id: Any) -> Vet | None:
    if vet_id is None:
        return None
    second = vet_in(record.practice, vet_id)
    if second == record.surgeon:
        raise BadInput(field="second_surgeon", problem="the second surgeon is somebody else.")
    return second


def _use(record: ProcedureRecord, used: Iterable[Used], actor: Member, now: datetime) -> None:
    """Write which pieces were used, and give each its next state; a piece written before is left alone."""
    for each in used:
        piece = find(Kit.objects.all(), pk=each.kit_id, practice=record.practice, what="kit")
        if record.kit_used.filter(kit=piece).exists():
            continue
        ready_at = _ready_at(each, now)
        ProcedureKit.objects.create(
            practice=record.practice, record=record, kit=piece, next_state=each.next_state, ready_at=ready_at
        )
        move_kit(
            kit=piece,
            place=piece.place,
            state=each.next_state,
            ready_at=ready_at,
            actor=actor,
            now=now,
            reason=f"procedure:{record.pk}",
        )


def _ready_at(used: Used, now: datetime) -> datetime | None:
    if used.next_state not in KitState.values:
        raise BadInput(field="next_state", problem="say ready, used or sterilising.")
    if used.next_state != KitState.STERILISING:
        return None
    if used.ready_at is None or used.ready_at <= now:
        raise BadInput(field="ready_at", problem="say until when it is being sterilised; that lies ahead.")
    return used.ready_at


def _ask_for_outcomes(record: ProcedureRecord) -> None:
    """Owe an outcome on each day of the table; one that was not answered yet follows a corrected end."""
    assert record.ended_at is not None
    for day, asked_at in asked_on(procedures()[record.kind], record.ended_at, record.practice.tz).items():
        row, made = ProcedureOutcome.objects.get_or_create(
            practice=record.practice, record=record, day=day, defaults={"asked_at": asked_at}
        )
        if not made and not row.outcome and row.asked_at != asked_at:
            row.asked_at = asked_at
            row.save(update_fields=["asked_at"])


@transaction.atomic
def write_outcome(
    *, record_id: Any, day: int, actor: Member, now: datetime, outcome: str, words: str = "", reason: str = ""
) -> ProcedureOutcome:
    """Write how it went on one of the days. An answer that stands is put right only with a reason.

    A death answers the later days as well: nobody rings a farm about a cow that is known to be dead.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    record = procedure_for_update(actor.practice, record_id)
    row = record.outcomes.filter(day=day).first()
    if row is None:
        raise BadInput(field="day", problem="no outcome is asked for on that day.")
    if outcome not in list(Outcome):
        raise BadInput(field="outcome", problem=f"choose one of {', '.join(Outcome)}.")
    if now < row.asked_at - timedelta(days=1) and outcome not in (Outcome.DEAD, Outcome.GONE):
        raise BadInput(
            field="day", problem=f"day {day} is still to come. Only death or sale is known before."
        )
    if row.outcome:
        required(reason, "reason", "this day is answered already. Say what was wrong.")
    rows = [row]
    if outcome in (Outcome.DEAD, Outcome.GONE):
        rows += list(record.outcomes.filter(day__gt=day, outcome=""))
    for each in rows:
        each.outcome, each.words = outcome, words.strip()
        each.answered_at, each.answered_by = now, actor
        each.save()
    sentence = f"Day {day}: {WORDS[Outcome(outcome)]}"
    tell_step(record, actor, now, "procedure_outcome", sentence, reason=reason.strip() or words.strip())
    return row

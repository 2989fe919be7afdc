"""Leaving a call for later, and ending it without a visit."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from cases.errors import NeedsVetsWord, VetOnTheWay
from cases.models import Call, CallState
from cases.services.said import required
from cases.services.taking import facts_of
from cases.services.triage_again import open_call
from cases.services.visits import let_go
from rotas.access import find, require_role, vet_in
from rotas.errors import AlreadyDone, BadInput
from rotas.models import DutyKind, Member, Neighbour, Role
from rotas.services.duty import record_duty
from rotas.services.telling import tell

LONGEST_DEFERRAL = timedelta(days=14)  # later than this is a booked visit [cp]
LONGEST_ADVICE_MIN = 240


@transaction.atomic
def defer_call(
    *, call_id: Any, actor: Member, now: datetime, until: datetime, reason: str, agreed_by_vet_id: Any = None
) -> Call:
    """Leave a waiting call for the day team, or for any later time.

    Past its arrive-by time that is a vet's decision: an acting vet, or a named one who agreed.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    call = _without_vet(actor, call_id)
    if not now < until <= now + LONGEST_DEFERRAL:
        raise BadInput(field="until", problem="say a time from now on, within 14 days; else book a visit.")
    vet = None if agreed_by_vet_id is None else vet_in(actor.practice, agreed_by_vet_id)
    if call.arrive_by and until > call.arrive_by and vet is None and not actor.holds(Role.VET):
        raise NeedsVetsWord(what=f"Leaving call {call.number} past its arrive-by time")
    before = facts_of(call)
    call.state = CallState.DEFERRED
    call.not_before = until
    call.save(update_fields=["state", "not_before"])
    agreed = f"; {vet} agreed" if vet else ""
    sentence = f"Call {call.number} left until {call.practice.local(until):%a %H:%M}{agreed}"
    why = required(reason, "reason", "say why it can wait.")
    _tell(call, before, actor, now, "call_deferred", sentence, why)
    return call


@transaction.atomic
def resume_call(*, call_id: Any, actor: Member, now: datetime) -> Call:
    """Put a call that was left for later back among those that wait now."""
    require_role(actor, Role.RECEPTION, Role.VET)
    call = open_call(actor, call_id)
    if call.state != CallState.DEFERRED:
        raise AlreadyDone(f"Call {call.number} was not left for later; it is {call.get_state_display()}.")
    before = facts_of(call)
    call.state = CallState.WAITING
    call.not_before = None
    call.save(update_fields=["state", "not_before"])
    _tell(call, before, actor, now, "call_resumed", f"Call {call.number} waits again")
    return call


@transaction.atomic
def hand_over_call(
    *,
    call_id: Any,
    actor: Member,
    now: datetime,
    accepted_by: str,
    told: str = "",
    neighbour_id: Any = None,
    neighbour: str = "",
) -> Call:
    """Hand a call to another practice, by key or by name. It is not handed over until accepted by name.

    `told` is what they were told: what has been given, who tells the client, who pays.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    call = _without_vet(actor, call_id)
    practice_name = neighbour.strip()
    if neighbour_id is not None:
        rows = Neighbour.objects.all()
        found = find(rows, pk=neighbour_id, practice=actor.practice, what="neighbouring practice")
        practice_name = found.name
    practice_name = required(practice_name, "neighbour", "say which practice takes it.")
    person = required(accepted_by, "accepted_by", "it is not handed over until somebody accepts it by name.")
    call.handed_over_to = f"{person}, {practice_name}"[:160]
    sentence = f"Call {call.number} handed over to {call.handed_over_to}"
    return _end(call, CallState.HANDED_OVER, actor, now, "call_handed_over", sentence, told.strip())


@transaction.atomic
def give_advice(
    *,
    call_id: Any,
    actor: Member,
    now: datetime,
    vet_id: Any,
    minutes: int,
    outcome: str,
    ends_call: bool = True,
) -> Call:
    """Write that a vet advised by telephone for the last `minutes`; that is work and is recorded as such.

    It ends the call unless `ends_call` is false, when the visit is still wanted.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    if not 1 <= minutes <= LONGEST_ADVICE_MIN:
        problem = f"say how long it took, from 1 to {LONGEST_ADVICE_MIN} minutes."
        raise BadInput(field="minutes", problem=problem)
    call = _without_vet(actor, call_id) if ends_call else open_call(actor, call_id)
    vet = vet_in(actor.practice, vet_id)
    said = required(outcome, "outcome", "say what was advised and what the caller will do.")
    record_duty(
        vet=vet,
        kind=DutyKind.PHONE,
        start=now - timedelta(minutes=minutes),
        end=now,
        source=f"call:{call.pk}@{now:%Y%m%dT%H%M%S}",
        now=now,
        actor=actor,
    )
    sentence = f"{vet} advised on call {call.number} by telephone, {minutes} min"
    if ends_call:
        return _end(call, CallState.ADVISED, actor, now, "call_advised", sentence, said)
    _tell(call, facts_of(call), actor, now, "call_advised", sentence, said)
    return call


@transaction.atomic
def cancel_call(*, call_id: Any, actor: Member, now: datetime, reason: str) -> Call:
    """End a call that nobody needs any more; vets on it are stood down and told so."""
    require_role(actor, Role.RECEPTION, Role.VET)
    call = open_call(actor, call_id)
    why = required(reason, "reason", "say why it is not needed any more.")
    for visit in call.visits.active().select_related("vet__member", "practice", "call"):
        let_go(visit, actor, now, f"call cancelled: {why}")
    return _end(call, CallState.CANCELLED, actor, now, "call_cancelled", f"Call {call.number} cancelled", why)


def _without_vet(actor: Member, call_id: Any) -> Call:
    """Return the locked open call that no vet has; else say whose it is."""
    call = open_call(actor, call_id)
    visit = call.visits.active().select_related("vet__member").first()
    if visit is not None:
        raise VetOnTheWay(vet=visit.vet.name, number=call.number)
    return call


def _end(
    call: Call, state: str, actor: Member, now: datetime, verb: str, sentence: str, outcome: str
) -> Call:
    before = facts_of(call)
    call.state = state
    call.closed_at = now
    call.outcome = outcome
    call.save(update_fields=["state", "closed_at", "outcome", "handed_over_to"])
    _tell(call, before, actor, now, verb, sentence, outcome)
    return call


def _tell(
    call: Call,
    before: dict[str, Any],
    actor: Member,
    now: datetime,
    verb: str,
    sentence: str,
    reason: str = "",
) -> None:
    tell(
        practice=call.practice,
        now=now,
        verb=verb,
        subject=call,
        sentence=sentence,
        topic="call",
        actor=actor,
        reason=reason,
        before=before,
        after=facts_of(call),
    )

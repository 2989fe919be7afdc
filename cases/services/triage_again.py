"""Assessing a call again: new answers, and a vet who puts a name to a lower class."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from cases.access import call_for_update, location_in
from cases.errors import CallClosed, NeedsVetsWord, WrongFarm
from cases.models import Call, Recheck, Treatment, VisitState
from cases.services.assessing import (
    CallFacts,
    assessment_of,
    columns_of,
    word_as_json,
    word_from_json,
)
from cases.services.rechecks import start_rechecks
from cases.services.taking import facts_of
from cases.triage.report import VetWord
from cases.triage.vocabulary import Urgency
from rotas.access import require_role, vet_in
from rotas.errors import BadInput
from rotas.models import Member, Role, Vet
from rotas.services.telling import tell


@transaction.atomic
def reassess(
    *,
    call_id: Any,
    actor: Member,
    now: datetime,
    answers: Mapping[str, Any] | None = None,
    onset_at: datetime | None = None,
    lowered_by_vet_id: Any = None,
    lower_to: str | None = None,
    till_morning: bool = False,
    reason: str = "",
) -> Call:
    """Assess an open call again with what was asked anew; answers left out stand as they are.

    With `lowered_by_vet_id` that vet leaves it at `lower_to` (left out: what triage proposes), or
    for the morning. The class rises by itself as soon as an answer changes for the worse.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    call = open_call(actor, call_id)
    merged = dict(call.answers) | dict(answers or {})
    word = word_from_json(call.assessment.get("vet_word"))
    vet = None if lowered_by_vet_id is None else vet_in(actor.practice, lowered_by_vet_id)
    if vet is not None:
        word = VetWord(
            vet=vet.name,
            lower_to=_class_to(call, lower_to, till_morning),
            till_morning=till_morning,
            reason=reason.strip(),
            answers_seen=merged,
        )
    elif lower_to is not None or till_morning:
        raise NeedsVetsWord(what="A lower class")
    return _write(call, merged, onset_at or call.onset_at, word, vet, actor, now)


@transaction.atomic
def confirm_lower(*, call_id: Any, vet: Vet, now: datetime, reason: str = "") -> Call:
    """Let a vet put their own name to the lower class that triage proposes."""
    return reassess(
        call_id=call_id,
        actor=vet.member,
        now=now,
        lowered_by_vet_id=vet.pk,
        reason=reason or "confirmed by the vet",
    )


@transaction.atomic
def say_farm(*, call_id: Any, actor: Member, now: datetime, location_id: Any) -> Call:
    """Write which farm a call is about, once it is known; what its visits owe starts then.

    A call that has ended may still be given a farm while it has none. Once something is written for
    the animals of a farm, the call stays with it.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    call = call_for_update(actor.practice, call_id)
    if call.location is not None:
        _require_movable(call)
    before = facts_of(call)
    call.location = location_in(actor.practice, location_id)
    call.client = call.location.client
    call.save(update_fields=["location", "client"])
    tell(
        practice=call.practice,
        now=now,
        verb="call_farm_said",
        subject=call,
        topic="call",
        actor=actor,
        sentence=f"Call {call.number} is about {call.location.name}",
        before=before,
        after=facts_of(call),
    )
    for visit in call.visits.filter(state=VisitState.FINISHED).select_related("practice", "call__location"):
        start_rechecks(visit=visit, actor=actor, now=now)
    return call


def _require_movable(call: Call) -> None:
    if not call.is_open:
        raise CallClosed(number=call.number, state=call.get_state_display())
    treated = Treatment.objects.filter(visit__call=call).exists()
    if call.location is not None and (treated or Recheck.objects.filter(visit__call=call).exists()):
        done = f"what was done on call {call.number}"
        raise WrongFarm(field="location", what=done, farm=call.location.name)


def open_call(actor: Member, call_id: Any) -> Call:
    """Return the locked call of the actor's practice, or say that it has ended."""
    call = call_for_update(actor.practice, call_id)
    if not call.is_open:
        raise CallClosed(number=call.number, state=call.get_state_display())
    return call


def _class_to(call: Call, lower_to: str | None, till_morning: bool) -> Urgency | None:
    """Return the class that the vet leaves it at: named, or proposed, or as it is till morning."""
    if lower_to is not None:
        try:
            return Urgency(lower_to)
        except ValueError:
            known = ", ".join(urgency.value for urgency in Urgency)
            raise BadInput(field="lower_to", problem=f"say one of {known}.") from None
    proposed = [Urgency(proposal["to"]) for proposal in call.assessment.get("proposals", [])]
    if not proposed and not till_morning:
        problem = "triage proposes no lower class. Say which one the vet means."
        raise BadInput(field="lower_to", problem=problem)
    return min(proposed, default=None)


def _write(
    call: Call,
    answers: dict[str, Any],
    onset_at: datetime | None,
    word: VetWord | None,
    vet: Vet | None,
    actor: Member,
    now: datetime,
) -> Call:
    before = facts_of(call)
    facts = CallFacts(call.complaint, call.species, answers, call.called_at, onset_at)
    assessment = assessment_of(call.practice, facts, word)
    kept = call.assessment.get("vet_word")
    values = columns_of(assessment) | {"answers": answers, "onset_at": onset_at}
    if vet is not None and word is not None:
        kept = word_as_json(word, vet.pk, now)
        values["lowered_by"] = vet.member
    for name, value in values.items():
        setattr(call, name, value)
    if kept:
        call.assessment["vet_word"] = kept
    call.save()
    _tell(call, before, word if vet is not None else None, actor, now)
    return call


def _tell(call: Call, before: dict[str, Any], word: VetWord | None, actor: Member, now: datetime) -> None:
    sentence = f"Call {call.number} assessed again: {call.get_urgency_display()}"
    if before["urgency"] != call.urgency:
        sentence += f", was {before['urgency'].replace('_', ' ')}"
    if word is not None:
        sentence += f"; {word.vet} decided"
    tell(
        practice=call.practice,
        now=now,
        verb="call_assessed",
        subject=call,
        sentence=sentence,
        topic="call",
        actor=actor,
        reason=word.reason if word else "",
        before=before,
        after=facts_of(call),
    )

"""Taking a call: who rang, from where, about what, and how urgent that is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Max

from cases.access import client_in, location_in
from cases.errors import DuplicateCall
from cases.models import Call, Client, Location
from cases.services.assessing import CallFacts, assessment_of, columns_of
from cases.services.said import required
from cases.services.telephones import e164, find_caller
from cases.triage.report import Assessment
from rotas.access import require_here
from rotas.errors import BadInput, FromTheFuture
from rotas.models import Member, Practice, Role
from rotas.services.telling import tell

SAME_AGAIN = timedelta(hours=6)  # two calls of one farm about one complaint within this are looked at [cp]
CLOCKS_MAY_DIFFER = timedelta(minutes=2)
LONGEST_AGO = timedelta(days=2)  # a paper sheet typed in after a failure of the service [cp]
TRAINED_SECOND = "trained_second"


@dataclass(frozen=True)
class _Caller:
    """Who rang, from where."""

    name: str
    phone: str
    client: Client | None
    location: Location | None


@transaction.atomic
def take_call(
    *,
    practice: Practice,
    actor: Member,
    now: datetime,
    complaint: str,
    species: str,
    answers: Mapping[str, Any],
    caller_phone: str = "",
    caller_name: str = "",
    client_id: Any = None,
    location_id: Any = None,
    place_note: str = "",
    details: str = "",
    affected: int = 1,
    called_at: datetime | None = None,
    onset_at: datetime | None = None,
    vets_needed: int | None = None,
    in_spite_of_duplicate: bool = False,
) -> Call:
    """Take a call, assess it at once and give it the next number of the practice.

    A farm that rang about the same complaint less than 6 h ago and is still owed something is
    refused as DuplicateCall, unless the caller says that it is another animal.
    """
    require_here(actor, practice.pk, Role.RECEPTION, Role.VET)
    required(species, "species", "say what kind of animal it is.")
    called_at = _heard_at(called_at or now, now)
    caller = _caller(practice, caller_name, caller_phone, client_id, location_id)
    facts = CallFacts(complaint, species, answers, called_at, onset_at)
    assessment = assessment_of(practice, facts)
    Practice.objects.select_for_update(no_key=True).get(pk=practice.pk)  # numbers are counted one by one
    if not in_spite_of_duplicate:
        _refuse_duplicate(practice, caller.location, facts, now)
    call = Call.objects.create(
        practice=practice,
        number=_next_number(practice),
        taken_by=actor,
        caller_name=caller.name,
        caller_phone=caller.phone,
        client=caller.client,
        location=caller.location,
        place_note=place_note.strip(),
        details=details.strip(),
        complaint=complaint,
        species=species,
        affected=_head(affected),
        answers=dict(answers),
        called_at=called_at,
        onset_at=onset_at,
        vets_needed=_vets(vets_needed, assessment),
        **columns_of(assessment),
    )
    _tell_taken(call, assessment, actor, now)
    return call


def _heard_at(called_at: datetime, now: datetime) -> datetime:
    if called_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="called_at")
    if called_at < now - LONGEST_AGO:
        raise BadInput(field="called_at", problem="this is more than two days ago. Check the date.")
    return min(called_at, now)


def _caller(practice: Practice, name: str, phone: str, client_id: Any, location_id: Any) -> _Caller:
    """Return the caller; a number that belongs to one client only names that client."""
    location = None if location_id is None else location_in(practice, location_id)
    client = None if client_id is None else client_in(practice, client_id)
    number = e164(practice, phone)
    if client is None and location is not None:
        client = location.client
    if client is None and number:
        known = find_caller(practice, number).clients
        client = known[0] if len(known) == 1 else None
    return _Caller(name.strip()[:120], number, client, location)


def _head(affected: int) -> int:
    if not 1 <= affected <= 100_000:
        raise BadInput(field="affected", problem="say how many animals are affected, from 1 up.")
    return affected


def _vets(asked: int | None, assessment: Assessment) -> int:
    if asked is None:
        return 2 if assessment.second_person == TRAINED_SECOND else 1
    if asked not in (1, 2):
        raise BadInput(field="vets_needed", problem="one vet or two; more are several calls.")
    return asked


def _refuse_duplicate(practice: Practice, location: Location | None, facts: CallFacts, now: datetime) -> None:
    if location is None:
        return
    same = (
        Call.objects.for_practice(practice)
        .open()
        .filter(
            location=location,
            species=facts.species,
            complaint=facts.complaint,
            called_at__gt=now - SAME_AGAIN,
        )
    )
    found = same.order_by("-called_at").first()
    if found is not None:
        raise DuplicateCall(
            number=found.number,
            call=found.pk,
            location=location.name,
            taken_at=f"{practice.local(found.called_at):%H:%M}",
        )


def _next_number(practice: Practice) -> int:
    last = Call.objects.for_practice(practice).aggregate(last=Max("number"))["last"]
    return (last or 0) + 1


def _tell_taken(call: Call, assessment: Assessment, actor: Member, now: datetime) -> None:
    place = call.location.name if call.location else "a farm not yet known"
    sentence = f"Call {call.number} taken: {assessment.trade_name}, {place}; {assessment.urgency.word}"
    if call.arrive_by:
        sentence += f", arrive by {call.practice.local(call.arrive_by):%a %H:%M}"
    tell(
        practice=call.practice,
        now=now,
        verb="call_taken",
        subject=call,
        sentence=sentence,
        topic="call",
        actor=actor,
        after=facts_of(call),
    )


def facts_of(call: Call) -> dict[str, Any]:
    """Return what the story keeps of a call's standing."""
    return {
        "state": call.state,
        "urgency": call.urgency,
        "arrive_by": call.arrive_by,
        "location": call.location_id,
        "answers": call.answers,
        "not_before": call.not_before,
    }

"""The batches that the practice holds."""

from datetime import date, datetime
from typing import Any

from django.db import transaction

from cases.access import batch_for_update, medicine_for_update
from cases.models import Batch, Medicine
from cases.services.said import required
from rotas.access import require_role
from rotas.errors import AlreadyDone, BadInput
from rotas.models import Member, Role
from rotas.services.telling import tell

LONGEST_NUMBER = 60


@transaction.atomic
def add_batch(
    *,
    medicine_id: Any,
    actor: Member,
    now: datetime,
    number: str,
    expires_on: date,
    received_on: date | None = None,
) -> Batch:
    """Add a batch; `expires_on` is its last day of use. A vet may, from the bottle in the car."""
    require_role(actor, Role.MANAGER, Role.VET)
    medicine = medicine_for_update(actor.practice, medicine_id)
    said = required(number, "number", "copy the batch number from the bottle.")
    if any(ord(sign) < 32 for sign in said):
        raise BadInput(field="number", problem="this holds a line break or a sign that is no letter.")
    if len(said) > LONGEST_NUMBER:
        raise BadInput(field="number", problem=f"a batch number has at most {LONGEST_NUMBER} letters.")
    if medicine.batches.filter(number__iexact=said).exists():
        raise AlreadyDone(f"Batch {said} of {medicine} is recorded already. Choose it from the list.")
    if received_on is not None and received_on > actor.practice.local(now).date():
        raise BadInput(field="received_on", problem="this day has not come yet.")
    batch = Batch.objects.create(
        practice=actor.practice,
        medicine=medicine,
        number=said,
        expires_on=expires_on,
        received_on=received_on,
    )
    sentence = f"Batch {said} of {medicine}, expires {expires_on}"
    _tell(batch, actor, now, "batch_added", sentence, after={"expires_on": expires_on})
    return batch


@transaction.atomic
def end_batch(*, batch_id: Any, actor: Member, now: datetime, reason: str) -> Batch:
    """End a batch that is used up, returned, recalled or thrown away."""
    require_role(actor, Role.MANAGER, Role.VET)
    batch = batch_for_update(actor.practice, batch_id)
    if batch.ended_at is not None:
        raise AlreadyDone(state="no longer held")
    why = required(reason, "reason", "say what became of it, such as used up.")
    batch.ended_at = now
    batch.save(update_fields=["ended_at"])
    sentence = f"Batch {batch.number} of {batch.medicine} is no longer held"
    _tell(batch, actor, now, "batch_ended", sentence, reason=why)
    return batch


def batch_named(medicine: Medicine, number: str) -> Batch | None:
    """Return the batch of that number, also one that has ended: its expiry is still known."""
    return medicine.batches.filter(number__iexact=number).first() if number else None


def _tell(
    batch: Batch,
    actor: Member,
    now: datetime,
    verb: str,
    sentence: str,
    *,
    reason: str = "",
    after: dict[str, Any] | None = None,
) -> None:
    tell(
        practice=actor.practice,
        now=now,
        verb=verb,
        subject=batch,
        topic="medicines",
        actor=actor,
        sentence=sentence,
        reason=reason,
        after=after,
    )

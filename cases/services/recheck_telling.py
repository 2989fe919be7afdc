"""Words about rechecks to the desk and to vets: by the outbox, once for each cause."""

from collections.abc import Iterable
from datetime import datetime

from django.conf import settings

from cases.models import Client
from cases.services.telephones import spoken
from rotas import outbox
from rotas.models import Practice, Vet
from rotas.services.telling import write_to


def write_round(
    practice: Practice,
    vets: Iterable[Vet | None],
    *,
    cause: str,
    subject: str,
    body: str,
    now: datetime,
    urgent: bool = False,
) -> None:
    """Write to the practice's desk and to the vets named; `cause` is told to each of them once."""
    outbox.put(
        practice=practice,
        key=f"{cause}:desk",
        address=practice.email or settings.DEFAULT_FROM_EMAIL,
        recipient_name=practice.name,
        subject=subject,
        body=body,
        not_before=now,
        urgent=urgent,
    )
    for vet in dict.fromkeys(vet for vet in vets if vet is not None):
        write_to(vet.member, cause=cause, subject=subject, body=body, now=now, urgent=urgent)


def numbers_of(client: Client) -> str:
    """Return a client's numbers as they are written for people, with their labels."""
    numbers = [f"{spoken(phone.number)} {phone.label}".strip() for phone in client.phones.all()]
    return ", ".join(numbers) or "no number is known"

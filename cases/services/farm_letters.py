"""A letter to a farm that is no reminder: to the keeper, and to who milks where it is about milk."""

from collections.abc import Iterable
from datetime import datetime
from hashlib import sha256

from cases.models import Location
from cases.services.bundles import NOT_LAW, desk
from cases.services.telephones import spoken
from rotas import outbox
from rotas.models import OutboxMessage


def letter_to_farm(
    location: Location,
    *,
    key: str,
    subject: str,
    lines: Iterable[str],
    not_before: datetime,
    about_milk: bool,
    urgent: bool = False,
) -> list[OutboxMessage]:
    """Put a letter in the outbox for each address of the farm; without one the desk is written to."""
    client, practice = location.client, location.practice
    told = [client.email, client.milking_contact_email if about_milk else ""]
    addresses = [(client.name, address) for address in dict.fromkeys(told) if address]
    words = [f"{location.name}", "", *lines, "", *_closing(location)]
    if not addresses:
        words = [f"No address for {client.name}: please tell them by telephone.", "", *words]
    return [
        outbox.put(
            practice=practice,
            key=f"{key}:{sha256(address.encode()).hexdigest()[:16]}",
            address=address,
            recipient_name=name,
            subject=f"{location.name}: {subject}",
            body="\n".join(words) + "\n",
            not_before=not_before,
            urgent=urgent,
        )
        for name, address in addresses or [desk(practice)]
    ]


def _closing(location: Location) -> list[str]:
    practice = location.practice
    ring = f"If in doubt leave it out, and ring {practice.name}"
    return [f"{ring}: {spoken(practice.phone)}." if practice.phone else f"{ring}.", NOT_LAW]

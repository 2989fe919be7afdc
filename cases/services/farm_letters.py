"""A letter to a farm that is no reminder: to the keeper, and to who milks where it is about milk."""

from collections.abc import Iterable
from datetime import datetime
from hashlib import sha256

from cases.models import Location
from cases.services.bundles import NOT_LAW
from cases.services.recipients import Recipient, desk, keeper_of, milkers_of
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
) -> list[OutboxMessage]:
    """Put a letter in the outbox for each address of the farm; without one the desk is written to.

    It asks for no word that it was read, so it is for what makes nobody wait longer; that something is
    held is told by a reminder (`hold_plans.plan_held`).
    """
    practice = location.practice
    found = _recipients(location, about_milk)
    words = [location.name, "", *lines, "", *_closing(location)]
    if not found:
        words = [f"No address for {location.client.name}: please tell them by telephone.", "", *words]
    return [
        outbox.put(
            practice=practice,
            key=f"{key}:{sha256(each.address.encode()).hexdigest()[:16]}",
            channel=each.channel,
            address=each.address,
            recipient_name=each.name,
            subject=f"{location.name}: {subject}",
            body="\n".join(words) + "\n",
            not_before=not_before,
            other=each.other,
        )
        for each in found or [desk(practice)]
    ]


def _recipients(location: Location, about_milk: bool) -> list[Recipient]:
    client, practice = location.client, location.practice
    milkers = milkers_of(location, client, practice) if about_milk else []
    found = [*keeper_of(client, practice), *milkers]
    return list({(each.channel, each.address): each for each in found}.values())


def _closing(location: Location) -> list[str]:
    practice = location.practice
    ring = f"If in doubt leave it out, and ring {practice.name}"
    return [f"{ring}: {spoken(practice.phone)}." if practice.phone else f"{ring}.", NOT_LAW]

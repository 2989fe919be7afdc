"""A letter to a farm that is no reminder: to the keeper, and to who milks where it is about milk."""

from collections.abc import Iterable
from datetime import datetime
from hashlib import sha256

from cases.models import Location
from cases.reminding import times
from cases.services.bundles import NOT_LAW
from cases.services.recipients import Recipient, desk, keeper_of
from cases.services.telephones import spoken
from rotas import outbox
from rotas.models import Channel, OutboxMessage


def letter_to_farm(
    location: Location,
    *,
    key: str,
    subject: str,
    lines: Iterable[str],
    not_before: datetime,
    about_milk: bool,
    at_once: bool = False,
) -> list[OutboxMessage]:
    """Put a letter in the outbox for each address of the farm; without one the desk is written to.

    `at_once`: something is held from now on, so it goes from 06:00 to 21:00 whatever the quiet hours.
    """
    practice = location.practice
    found = _recipients(location, about_milk)
    words = [location.name, "", *lines, "", *_closing(location)]
    if not found:
        words = [f"No address for {location.client.name}: please tell them by telephone.", "", *words]
    moment = times.lengthened(outbox.quiet_of(practice), not_before) if at_once else not_before
    return [
        outbox.put(
            practice=practice,
            key=f"{key}:{sha256(each.address.encode()).hexdigest()[:16]}",
            channel=each.channel,
            address=each.address,
            recipient_name=each.name,
            subject=f"{location.name}: {subject}",
            body="\n".join(words) + "\n",
            not_before=moment,
            urgent=at_once,
        )
        for each in found or [desk(practice)]
    ]


def _recipients(location: Location, about_milk: bool) -> list[Recipient]:
    client = location.client
    found = keeper_of(client)
    if about_milk:
        found += [Recipient(client.name, client.milking_contact_email)] * bool(client.milking_contact_email)
        for contact in location.contacts.filter(ended_at=None).order_by("pk"):
            address, channel = (contact.email, Channel.EMAIL) if contact.email else (
                str(contact.number.as_e164), Channel.TEXT
            )  # fmt: skip
            found.append(Recipient(contact.name, address, channel))
    return list({(each.channel, each.address): each for each in found}.values())


def _closing(location: Location) -> list[str]:
    practice = location.practice
    ring = f"If in doubt leave it out, and ring {practice.name}"
    return [f"{ring}: {spoken(practice.phone)}." if practice.phone else f"{ring}.", NOT_LAW]

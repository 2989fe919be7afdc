"""That a message was read: on its page, by text message, or said on the telephone."""

import re
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from cases.followups.codes import number_of
from cases.models import AckHow, Client, FarmContact, ReminderState, Telling
from cases.services.herd_facts import farm_locked
from cases.services.said import required
from rotas import replies
from rotas.access import find, require_role
from rotas.errors import NotFound
from rotas.models import Member, Role
from rotas.replies import Reply
from rotas.services.telling import tell

OK = re.compile(r"\s*ok(?:ay)?[\s.:,]+([a-z0-9]{2,12})\b", re.IGNORECASE)
LONGEST_NAME = 120


def told_by_token(token: str, now: datetime) -> Telling:
    """Return what was told under this secret address; closed addresses are not there."""
    rows = Telling.objects.select_related("message", "practice", "location")
    found = rows.filter(token=token, asks=True, expires_at__gt=now).first()
    if found is None:
        raise NotFound(what="message")
    return found


def is_overtaken(telling: Telling) -> bool:
    """Say whether anything in the message is no longer true: a newer message has followed it."""
    void = Q(overtaken_at__isnull=False) | Q(state=ReminderState.CANCELLED)
    return telling.reminders.filter(void).exists()


def read_by_link(token: str, now: datetime) -> Telling:
    """Write that whoever holds the address has read it; a second time changes nothing."""
    telling = told_by_token(token, now)
    name = telling.message.recipient_name or telling.message.address
    return _read(telling, name, AckHow.LINK, None, now)


@replies.register
def read_by_text(reply: Reply) -> str | None:
    """Take "OK" with a code as a word that it was read; return what to say back, None if it is none.

    The sender's number has to be one of the farm's: a code alone answers nothing.
    """
    practice, number, now = reply.practice, reply.from_number, reply.now
    said = OK.match(reply.text)
    row = said and number_of(said.group(1))
    if not row:
        return None
    telling = (
        Telling.objects.for_practice(practice).filter(pk=row, asks=True).select_related("message").first()
    )
    if telling is None or not _is_theirs(telling, number):
        return None
    _read(telling, telling.message.recipient_name or number, AckHow.TEXT, None, now)
    if is_overtaken(telling):
        return (
            f"Thank you. But that was changed since: a newer message holds. If in doubt ring {practice.name}."
        )
    return "Thank you, written down as read. If in doubt leave it out and ring."


def _is_theirs(telling: Telling, number: str) -> bool:
    if telling.message.address == number:
        return True
    clients = Client.objects.filter(Q(phones__number=number) | Q(text_number=number))
    contacts = FarmContact.objects.filter(location=telling.location_id, ended_at=None, number=number)
    return clients.filter(locations=telling.location_id).exists() or contacts.exists()


def read_on_telephone(*, telling_id: Any, actor: Member, now: datetime, who: str) -> Telling:
    """Write that somebody of the farm has said on the telephone that they know what the message says."""
    require_role(actor, Role.RECEPTION, Role.VET)
    rows = Telling.objects.select_related("message", "practice", "location")
    telling = find(rows, pk=telling_id, practice=actor.practice, what="message")
    name = required(who, "who", "write who said it.")[:LONGEST_NAME]
    return _read(telling, name, AckHow.TELEPHONE, actor, now)


@transaction.atomic
def _read(telling: Telling, name: str, how: str, actor: Member | None, now: datetime) -> Telling:
    """Write it once. What has been overtaken since is not known by having read this.

    On the telephone the desk spoke with the farm, so that settles the whole message, whoever was to read it.
    """
    location = farm_locked(telling.practice, telling.location_id)
    row = Telling.objects.select_for_update(of=("self",)).select_related("message").get(pk=telling.pk)
    if row.acknowledged_at is not None:
        return row
    row.acknowledged_at, row.acknowledged_by, row.acknowledged_how = now, name[:LONGEST_NAME], how
    row.save(update_fields=["acknowledged_at", "acknowledged_by", "acknowledged_how"])
    settled = row.reminders if how == AckHow.TELEPHONE else row.settles
    settled.filter(acknowledged_at=None, overtaken_at=None).update(
        acknowledged_at=now, acknowledged_by=row.acknowledged_by, acknowledged_how=how
    )
    tell(
        practice=location.practice,
        now=now,
        verb="message_read",
        subject=row,
        topic="aftercare",
        actor=actor,
        sentence=f"{name} of {location} has read: {row.message.subject} ({AckHow(how).label})",
        after={"message": row.message_id, "how": how},
    )
    return row

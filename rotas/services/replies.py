"""Replies: kept first, then answered by rule or left for a person to read."""

import logging
from datetime import datetime, timedelta
from typing import Any

import phonenumbers
from django.db import transaction

from rotas import outbox, replies
from rotas.access import find, require_here
from rotas.errors import AlreadyDone
from rotas.models import Channel, InboundMessage, InboundState, Member, Practice, Role
from rotas.services.telling import tell

log = logging.getLogger(__name__)

LEFT_OVER = timedelta(minutes=1)  # a reply that is not looked at after so long lost its worker
SAID_ONCE = timedelta(hours=1)  # between two "nobody reads this at once" to one number, against echoes [cp]


def keep_reply(
    *, practice: Practice, key: str, sender: str, text: str, written_at: datetime, now: datetime
) -> tuple[InboundMessage, bool]:
    """Keep what somebody wrote, whoever they are; return the row, and whether it is new."""
    return InboundMessage.objects.get_or_create(
        practice=practice,
        key=key,
        defaults={
            "channel": Channel.TEXT,
            "from_address": number_of(practice, sender),
            "text": text,
            "written_at": written_at,
            "received_at": now,
        },
    )


def number_of(practice: Practice, sender: str) -> str:
    """Return the sender's number in E.164, or as it came where it is none."""
    try:
        number = phonenumbers.parse(sender, practice.country)
    except phonenumbers.NumberParseException:
        return sender.strip()
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


@transaction.atomic
def look_at(*, inbound_id: int, now: datetime) -> InboundMessage | None:
    """Offer a kept reply to the rules and send their answer; None where another worker did it."""
    rows = InboundMessage.objects.select_for_update(of=("self",)).select_related("practice")
    row = rows.filter(pk=inbound_id, state=InboundState.NEW).first()
    if row is None:
        return None
    reply = replies.Reply(row.practice, row.from_address, row.text, row.written_at, row.key, now)
    answered = replies.offer(reply)
    if answered is None:
        return _left_unread(row, now)
    row.state, row.handler, row.answer = InboundState.DONE, answered.handler[:60], answered.sentence
    row.save(update_fields=["state", "handler", "answer"])
    _tell(row, now, "reply_done", f"{row.from_address} wrote: {row.text}"[:400], reason=row.answer)
    _send_back(row, row.answer, now, "answer")
    return row


def look_at_left_over(*, now: datetime) -> int:
    """Look at the replies whose worker died after they were kept; return how many."""
    left = InboundMessage.objects.filter(state=InboundState.NEW, received_at__lte=now - LEFT_OVER)
    keys = list(left.order_by("received_at", "pk").values_list("pk", flat=True)[:100])
    return sum(look_at(inbound_id=pk, now=now) is not None for pk in keys)


def _left_unread(row: InboundMessage, now: datetime) -> InboundMessage:
    """Put the reply before a person, and tell the sender that nobody may read it at once."""
    lately = InboundMessage.objects.for_practice(row.practice).filter(
        from_address=row.from_address, received_at__gt=now - SAID_ONCE, answer__gt=""
    )
    row.state = InboundState.UNREAD
    row.answer = "" if lately.exclude(pk=row.pk).exists() else _not_read_at_once(row.practice)
    row.save(update_fields=["state", "answer"])
    _tell(row, now, "reply_unread", f"{row.from_address} wrote: {row.text}"[:400])
    _send_back(row, row.answer, now, "unread")
    return row


def _not_read_at_once(practice: Practice) -> str:
    number = practice.phone.as_international if practice.phone else "us"
    kept = f"{practice.name} keeps your message, but nobody may read it soon."
    return f"{kept} If an animal needs help, ring {number}."


@transaction.atomic
def mark_read(
    *, inbound: InboundMessage, actor: Member, now: datetime, note: str = "", answer: str = ""
) -> InboundMessage:
    """Say that a person has read a reply, with what they did; `answer` goes back as a text message."""
    require_here(actor, inbound.practice_id, Role.RECEPTION, Role.VET)
    row = InboundMessage.objects.select_for_update(of=("self",)).select_related("practice").get(pk=inbound.pk)
    if row.state != InboundState.UNREAD:
        raise AlreadyDone(state=row.get_state_display())
    row.state, row.read_at, row.read_by, row.read_note = InboundState.READ, now, actor, note.strip()
    row.answer = answer.strip() or row.answer
    row.save(update_fields=["state", "read_at", "read_by", "read_note", "answer"])
    sentence = f"{actor.name} read what {row.from_address} wrote"
    _tell(row, now, "reply_read", sentence, reason=row.read_note, actor=actor)
    _send_back(row, answer.strip(), now, "read")
    return row


def reply_in(practice: Practice, pk: object) -> InboundMessage:
    """Return a reply of the practice by key."""
    return find(InboundMessage.objects.all(), pk=pk, practice=practice, what="reply")


def _send_back(row: InboundMessage, sentence: str, now: datetime, what: str) -> None:
    """Put the answer in the outbox: at once, for the sender is awake."""
    if sentence:
        outbox.put(
            practice=row.practice,
            key=f"reply:{row.pk}:{what}",
            channel=row.channel,
            address=row.from_address,
            subject=f"Answer from {row.practice.name}",
            body=sentence,
            text=sentence,
            not_before=now,
            urgent=True,
        )


def _tell(
    row: InboundMessage,
    now: datetime,
    verb: str,
    sentence: str,
    *,
    reason: str = "",
    actor: Member | None = None,
) -> None:
    words: dict[str, Any] = {"verb": verb, "sentence": sentence, "reason": reason}
    tell(practice=row.practice, now=now, subject=row, topic="aftercare", actor=actor, by="gateway", **words)

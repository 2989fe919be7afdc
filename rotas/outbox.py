"""Messages that leave the practice: written with the change, sent afterwards, once each."""

from datetime import UTC, datetime, time, timedelta
from uuid import uuid4

from django.db import connection

from rotas.channels.wishes import Address
from rotas.models import Channel, MessageState, NextWay, OutboxMessage, Practice
from rotas.quiet import Quiet


def put(
    *,
    practice: Practice,
    key: str,
    address: str,
    subject: str,
    body: str,
    not_before: datetime,
    recipient_name: str = "",
    urgent: bool = False,
    channel: str = Channel.EMAIL,
    text: str = "",
    reply_code: str = "",
    not_after: datetime | None = None,
    other: Address | None = None,
) -> OutboxMessage:
    """Write a message in the transaction of its cause; the same `key` is written once only.

    A message that is not urgent waits until the quiet hours are over. `address` is what the channel
    takes: an e-mail address, or a number in E.164; `text` its short form (blank: the body goes).
    With the channel "call" nobody can be written to: the message stands on the page of messages until
    somebody has rung. From `not_after` on it is of no use and is closed instead of sent.
    `other` is where it goes if it fails for good (`rotas.services.next_ways`).
    """
    if not connection.in_atomic_block:
        raise RuntimeError("A message belongs in the transaction of its cause.")
    message, is_new = OutboxMessage.objects.get_or_create(
        practice=practice,
        key=key,
        defaults={
            "channel": channel,
            "address": address,
            "recipient_name": recipient_name,
            "subject": " ".join(subject.split())[:200],
            "body": body,
            "text": text.strip(),
            "reply_code": reply_code,
            "message_id": f"<{uuid4().hex}@{practice.slug}.byrelight>",
            "not_before": not_before if urgent else after_quiet(practice, not_before),
            "not_after": not_after,
            "urgent": urgent,
            **(_to_be_rung(recipient_name, address) if channel == Channel.CALL else {}),
        },
    )
    if is_new and other is not None:
        NextWay.objects.create(
            practice=practice, message=message, channel=other.channel, address=other.address
        )
    return message


def _to_be_rung(name: str, number: str) -> dict[str, str]:
    whom = ", ".join(filter(None, [name or "them", number]))
    sentence = f"Nobody can be told: no address is known. Ring {whom}."
    return {"state": MessageState.HELD, "last_error": sentence}


def quiet_of(practice: Practice) -> Quiet:
    """Return the practice's quiet hours."""
    return Quiet(practice.tz, practice.quiet_from, practice.quiet_until)


def is_quiet(practice: Practice, instant: datetime) -> bool:
    """Say whether the instant lies in the practice's quiet hours, half-open [from, until)."""
    return quiet_of(practice).holds(instant)


def after_quiet(practice: Practice, instant: datetime) -> datetime:
    """Return the instant, or the end of the quiet hours that it falls in."""
    return quiet_of(practice).after(instant)


def next_clock(practice: Practice, instant: datetime, clock: time) -> datetime:
    """Return the first moment from `instant` on at which the practice's clock shows `clock`, in UTC."""
    day = practice.local(instant).date()
    moments = (datetime.combine(day + timedelta(days=ahead), clock, practice.tz) for ahead in (0, 1))
    return next(moment for each in moments if (moment := each.astimezone(UTC)) >= instant)

"""A message that did not arrive goes by the next way, once, as a new message that names the first.

Safe under any number of workers and after a crash: what failed is found by its state, each is taken in
a transaction of its own that holds its row, and the new message's key names the first. Locks are taken
in the owner's order and the message's last, as where a message is withdrawn.
"""

import logging
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from rotas import next_ways, outbox
from rotas.lines import usable
from rotas.models import MessageState, NextWay, OutboxMessage
from rotas.services.message_story import tell

logger = logging.getLogger(__name__)

LOST = (MessageState.FAILED, MessageState.UNDELIVERED)
MOST = 100  # looked at in one step of a run


def take_next_ways(*, now: datetime) -> int:
    """Let what has failed for good go by its next way; return how many messages that came to."""
    rows = NextWay.objects.filter(looked_at=None, message__state__in=LOST).order_by("pk")
    return sum(_safely(key, now) for key in rows.values_list("message_id", flat=True)[:MOST])


def forgo_next_ways(messages: QuerySet[OutboxMessage], now: datetime) -> None:
    """Let none of the messages go by a next way any more: what they say has become untrue."""
    NextWay.objects.filter(message__in=messages, looked_at=None).update(looked_at=now)


def _safely(message_id: int, now: datetime) -> bool:
    """Keep a defect in one message from holding up the others; it stays a dead letter."""
    try:
        return _take(message_id, now)
    except Exception:
        logger.exception("Message %s could not go by its next way.", message_id)
        return False


@transaction.atomic
def _take(message_id: int, now: datetime) -> bool:
    """Ask whose message it is; say whether a new one was written."""
    message = OutboxMessage.objects.select_related("practice").get(pk=message_id)
    made: list[OutboxMessage] = []

    def go_on() -> OutboxMessage | None:
        second = _go_on(message, now)
        made.extend([second] if second else [])
        return second

    if not any(owner(message, now, go_on) for owner in next_ways.owners()):
        go_on()
    return bool(made)


def _go_on(message: OutboxMessage, now: datetime) -> OutboxMessage | None:
    """Write the message that goes instead; None where another worker has, or no line stands for it."""
    first = OutboxMessage.objects.select_for_update().get(pk=message.pk)
    way = NextWay.objects.select_for_update().get(message=first)
    if first.state not in LOST or way.looked_at is not None:
        return None
    way.looked_at = now
    if way.channel in usable(message.practice):
        way.follow_up = _second(first, way, message, now)
    way.save(update_fields=["looked_at", "follow_up"])
    if way.follow_up is not None:
        where = f"{way.get_channel_display()} instead, to {way.address}"
        _clear(first, now, f"Gone by {where}. {first.last_error}", f"Goes by {where}: {first.subject}")
    return way.follow_up


def _second(first: OutboxMessage, way: NextWay, message: OutboxMessage, now: datetime) -> OutboxMessage:
    tried = f"{first.get_channel_display()} to {first.address}"
    return outbox.put(
        practice=message.practice,
        key=f"instead-of:{first.pk}",
        channel=way.channel,
        address=way.address,
        recipient_name=first.recipient_name,
        subject=first.subject,
        body=f"{first.body.rstrip()}\n\n(This comes another way because our {tried} did not arrive.)\n",
        text=first.short_text,
        reply_code=first.reply_code,
        not_before=now,
        urgent=first.urgent,
        not_after=first.not_after,
    )


def close_lost(message: OutboxMessage, now: datetime, why: str) -> None:
    """Clear a message that did not arrive and about which nobody has to do anything any more."""
    row = OutboxMessage.objects.select_for_update().get(pk=message.pk)
    if row.state in LOST:
        _clear(row, now, f"{why[0].upper()}{why[1:]}.", f"Not sent another way, {why}: {row.subject}")


def _clear(first: OutboxMessage, now: datetime, note: str, sentence: str) -> None:
    first.state = MessageState.CLOSED
    first.cleared_at, first.cleared_note = now, note.strip()
    first.save(update_fields=["state", "cleared_at", "cleared_note"])
    tell(first, now, "message_another_way", sentence, reason=first.cleared_note)

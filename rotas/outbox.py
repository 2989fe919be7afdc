"""Messages that leave the practice: written with the change, sent afterwards, once each."""

from datetime import datetime, time, timedelta
from uuid import uuid4

from django.db import connection

from rotas.models import Channel, OutboxMessage, Practice


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
) -> OutboxMessage:
    """Write a message in the transaction of its cause; the same `key` is written once only.

    A message that is not urgent waits until the quiet hours are over. `address` is what the channel
    takes: an e-mail address, or a number in E.164; `text` its short form (blank: the body goes).
    """
    if not connection.in_atomic_block:
        raise RuntimeError("A message belongs in the transaction of its cause.")
    message, _ = OutboxMessage.objects.get_or_create(
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
            "urgent": urgent,
        },
    )
    return message


def is_quiet(practice: Practice, instant: datetime) -> bool:
    """Say whether the instant lies in the practice's quiet hours, half-open [from, until)."""
    clock = practice.local(instant).time()
    start, end = practice.quiet_from, practice.quiet_until
    if start <= end:
        return start <= clock < end
    return clock >= start or clock < end


def after_quiet(practice: Practice, instant: datetime) -> datetime:
    """Return the instant, or the end of the quiet hours that it falls in."""
    if not is_quiet(practice, instant):
        return instant
    return _next(practice, instant, practice.quiet_until)


def before_quiet(practice: Practice, instant: datetime, *, lead: timedelta = timedelta(0)) -> datetime:
    """Return the last moment outside the quiet hours that is no later than `instant`.

    `lead` is how long before the start of the quiet hours an early message goes.
    """
    if not is_quiet(practice, instant):
        return instant
    local = practice.local(instant)
    start = local.replace(
        hour=practice.quiet_from.hour, minute=practice.quiet_from.minute, second=0, microsecond=0
    )
    if start > local:
        start -= timedelta(days=1)
    return start.astimezone(instant.tzinfo) - lead


def _next(practice: Practice, instant: datetime, clock: time) -> datetime:
    """Return the next moment at which the practice's clock shows `clock`."""
    local = practice.local(instant)
    moment = local.replace(hour=clock.hour, minute=clock.minute, second=0, microsecond=0)
    if moment <= local:
        moment += timedelta(days=1)
    return moment.astimezone(instant.tzinfo)

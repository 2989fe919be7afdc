"""Sending what waits in the outbox.

How a message is sent once, whatever dies:

1. `claim_due` commits "being sent" before anything leaves. Two workers never claim the same row.
2. `send_claimed` holds the row's lock from before the first byte until "sent" is committed, so a
   live sender is never overtaken, however slow its mail server is. PostgreSQL frees the lock in
   the moment in which the sender's process dies.
3. A claim that nobody holds any more is taken again after LEASE.

Killed before the server took the mail: it goes out once, by the next worker. Killed between the
server's "250 accepted" and our commit (milliseconds): SMTP cannot be asked, so it goes out once
more, for a farm that is told twice is safer than one that is never told. The copy bears the same
Message-ID, which mail servers and readers use to drop doubles, and says in a line that it may be
one. A time-out while the server was answering is treated the same way.
"""

import logging
from datetime import datetime, timedelta
from email.utils import formataddr
from smtplib import SMTPException, SMTPRecipientsRefused, SMTPResponseException

from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.db.models import Q

from rotas import audit, events, outbox
from rotas.access import require_here
from rotas.errors import AlreadyDone
from rotas.models import Member, MessageState, OutboxMessage, Role

logger = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
BACK_OFF_MIN = (1, 5, 15, 60, 180)  # after the first, second, ... failed try [cp]; then it has failed
COPY_LINE = "(This may be a second copy: our first try was cut off. If you have it already, ignore this one.)"


@transaction.atomic
def claim_due(*, now: datetime, limit: int = 1) -> list[int]:
    """Take up to `limit` messages for this worker and return their keys, oldest first.

    Claim one, send it, claim the next: what a dying worker had claimed has to wait for LEASE.
    """
    deserted = Q(state=MessageState.SENDING, claimed_at__lte=now - LEASE)
    waiting = Q(state=MessageState.WAITING, not_before__lte=now)
    rows = OutboxMessage.objects.select_for_update(skip_locked=True, of=("self",)).filter(waiting | deserted)
    messages = list(rows.select_related("practice").order_by("not_before", "pk")[:limit])
    return [message.pk for message in messages if _claim(message, now)]


def _claim(message: OutboxMessage, now: datetime) -> bool:
    """Mark the message as being sent; a message over which worker after worker died has failed."""
    message.perhaps_sent = message.perhaps_sent or message.state == MessageState.SENDING
    if message.attempts > len(BACK_OFF_MIN):
        _failed(message, now, RuntimeError("Every worker that tried this died. See the server's log."))
        return False
    message.state = MessageState.SENDING
    message.claimed_at = now
    message.attempts += 1
    message.save(update_fields=["perhaps_sent", "state", "claimed_at", "attempts"])
    return True


def send_claimed(
    *, message_id: int, now: datetime, connection: BaseEmailBackend | None = None
) -> OutboxMessage | None:
    """Send one claimed message and return it in its new state; None when another worker has it.

    Never raises for a mail server's trouble: the message goes back to wait, or has failed. A
    `connection` that is given stays open for the next message.
    """
    line = connection or get_connection()
    try:
        return _send(message_id, now, line)
    finally:
        if connection is None:
            line.close()


@transaction.atomic
def _send(message_id: int, now: datetime, connection: BaseEmailBackend) -> OutboxMessage | None:
    # Not skipping a locked row: a worker that is just claiming may have locked ours in passing, before
    # it saw that it is taken. A row that another has really sent is no longer in this state after the wait.
    rows = OutboxMessage.objects.select_for_update(of=("self",)).select_related("practice")
    message = rows.filter(pk=message_id, state=MessageState.SENDING).first()
    if message is None:
        return None
    if not message.urgent and outbox.is_quiet(message.practice, now):
        return _wait_for_morning(message, now)
    trouble = _hand_over(message, connection)
    return _failed(message, now, trouble) if trouble else _sent(message, now)


def _hand_over(message: OutboxMessage, connection: BaseEmailBackend) -> Exception | None:
    """Give the mail to the server; return what went wrong, if anything.

    The connection is opened first and left open, so that nothing but the server's answer lies
    between the mail and our commit.
    """
    try:
        connection.open()
    except (OSError, SMTPException) as error:
        return error
    try:
        connection.send_messages([mail_of(message)])
    except (OSError, SMTPException) as error:
        connection.close()
        message.perhaps_sent = message.perhaps_sent or not _is_refusal(error)
        return error
    except ValueError as error:  # an address or header that no mail can carry
        return error
    return None


def _is_refusal(error: Exception) -> bool:
    """Say whether the server answered and said no, so that the mail has surely not gone."""
    return isinstance(error, SMTPResponseException | SMTPRecipientsRefused)


def mail_of(message: OutboxMessage) -> EmailMessage:
    """Return the mail of a message, with its fixed Message-ID."""
    practice = message.practice
    name = " ".join(message.recipient_name.split())
    lines = [COPY_LINE, "", message.body] if message.perhaps_sent else [message.body]
    return EmailMessage(
        subject=message.subject,
        body="\n".join(lines),
        to=[formataddr((name, message.address)) if name else message.address],
        reply_to=[practice.email] if practice.email else None,
        headers={"Message-ID": message.message_id, "Auto-Submitted": "auto-generated"},
    )


def _sent(message: OutboxMessage, now: datetime) -> OutboxMessage:
    message.state = MessageState.SENT
    message.sent_at = now
    message.last_error = ""
    message.save(update_fields=["state", "sent_at", "last_error"])
    _tell(message, now, "message_sent", f"Sent to {message.address}: {message.subject}")
    return message


def _failed(message: OutboxMessage, now: datetime, trouble: Exception) -> OutboxMessage:
    """Put the message back with a growing pause, or let it fail where trying again is no use."""
    message.last_error = f"{type(trouble).__name__}: {trouble}"[:1000]
    if _is_final(trouble) or message.attempts > len(BACK_OFF_MIN):
        message.state = MessageState.FAILED
        sentence = f"Not sent to {message.address}: {message.subject}. Tell them by telephone."
        _tell(message, now, "message_failed", sentence, reason=message.last_error)
        logger.error("Message %s failed: %s", message.pk, message.last_error)
    else:
        message.state = MessageState.WAITING
        message.not_before = now + timedelta(minutes=BACK_OFF_MIN[message.attempts - 1])
        logger.warning("Message %s waits until %s: %s", message.pk, message.not_before, message.last_error)
    message.save(update_fields=["state", "not_before", "last_error", "perhaps_sent"])
    return message


def _is_final(trouble: Exception) -> bool:
    """Say whether the server, or the mail's own shape, rules out every further try."""
    if isinstance(trouble, SMTPRecipientsRefused):
        return all(code >= 500 for code, _ in trouble.recipients.values())
    return isinstance(trouble, ValueError)


def _wait_for_morning(message: OutboxMessage, now: datetime) -> OutboxMessage:
    message.state = MessageState.WAITING
    message.not_before = outbox.after_quiet(message.practice, now)
    message.attempts -= 1
    message.save(update_fields=["state", "not_before", "attempts"])
    return message


def _tell(message: OutboxMessage, now: datetime, verb: str, sentence: str, reason: str = "") -> None:
    audit.record(
        practice=message.practice,
        at=now,
        verb=verb,
        subject=message,
        sentence=sentence,
        reason=reason,
        actor_name="outbox",
        after={"attempts": message.attempts, "message_id": message.message_id},
    )
    events.announce(message.practice_id, "aftercare", sentence)


@transaction.atomic
def withdraw(
    *, message: OutboxMessage, now: datetime, actor: Member | None = None, reason: str = ""
) -> OutboxMessage:
    """Keep a message from going out. Refuses one that is being sent or has gone.

    `actor` is None where a correction of ours makes the message void.
    """
    if actor is not None:
        require_here(actor, message.practice_id, Role.RECEPTION, Role.VET)
    row = OutboxMessage.objects.select_for_update().get(pk=message.pk)
    if row.state in (MessageState.SENDING, MessageState.SENT):
        raise AlreadyDone(state=row.get_state_display())
    if row.state == MessageState.WITHDRAWN:
        return row
    row.state = MessageState.WITHDRAWN
    row.save(update_fields=["state"])
    audit.record(
        practice=row.practice,
        at=now,
        verb="message_withdrawn",
        subject=row,
        actor=actor,
        reason=reason,
        sentence=f"Not to be sent any more to {row.address}: {row.subject}",
    )
    return row


@transaction.atomic
def try_again(*, message: OutboxMessage, actor: Member, now: datetime) -> OutboxMessage:
    """Let a failed message wait once more, after somebody has seen to the cause."""
    require_here(actor, message.practice_id, Role.RECEPTION)
    row = OutboxMessage.objects.select_for_update().get(pk=message.pk)
    if row.state != MessageState.FAILED:
        raise AlreadyDone(state=row.get_state_display())
    row.state = MessageState.WAITING
    row.attempts = 0
    row.not_before = now if row.urgent else outbox.after_quiet(row.practice, now)
    row.save(update_fields=["state", "attempts", "not_before"])
    audit.record(
        practice=row.practice,
        at=now,
        verb="message_tried_again",
        subject=row,
        actor=actor,
        sentence=f"To be tried again, to {row.address}: {row.subject}",
    )
    return row

"""Sending what waits in the outbox.

How a message is sent once, whatever dies:

1. `claim_due` commits "being sent" before anything leaves. Two workers never claim the same row.
2. `send_claimed` holds the row's lock from before the first byte until "sent" is committed, so a
   live sender is never overtaken, however slow the other side is. PostgreSQL frees the lock in
   the moment in which the sender's process dies.
3. A claim that nobody holds any more is taken again after LEASE.

Killed before the other side took the message: it goes out once, by the next worker. Killed between
its "taken" and our commit (milliseconds): it goes out once more under the same key, for a farm that
is told twice is safer than one that is never told. A gateway that honours the Idempotency-Key
delivers it once all the same; a mail server cannot be asked, so the copy bears the same Message-ID,
which servers and readers use to drop doubles, and says in a line that it may be one. A time-out
while the other side was answering is treated the same way.
"""

import logging
from collections.abc import Callable, Collection
from datetime import datetime, timedelta

from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.db.models import Case, F, Q, QuerySet, Value, When

from rotas import events, outbox
from rotas.access import require_here
from rotas.channels.back_off import pause_after
from rotas.channels.outcome import Letter, Taken, Trouble
from rotas.errors import AlreadyDone
from rotas.lines import Lines
from rotas.models import GONE, Member, MessageState, OutboxMessage, Role
from rotas.services.message_story import tell, what_now
from rotas.services.next_ways import take_next_ways

logger = logging.getLogger(__name__)

LEASE = timedelta(minutes=2)
MOST_TRIES = 6  # the first and one after each pause of `rotas.channels.back_off`
BATCH = 20  # messages claimed at once: so many wait for LEASE when a worker is killed
RUN_FOR = timedelta(seconds=10)  # one run: two ticks of the clock, so that two runs overlap and no more

Clock = Callable[[], datetime]
Down = Collection[tuple[int | None, str]]


def send_due(*, clock: Clock, lines: Lines | None = None, most: int | None = None) -> int:
    """Send what is due until nothing is, the time of a run is over or `most` are; return how many were tried.

    A line that cannot be reached is tried by one message; the others of the run that would go by it
    wait as they were. What has failed for good goes by its next way in the same run. Open pages hear
    of a run once and not of each message.
    """
    used = lines or Lines()
    until = clock() + RUN_FOR
    tried = 0
    told: set[int] = set()
    try:
        close_pointless(now=clock())
        while clock() < until and (most is None or tried < most):
            limit = BATCH if most is None else min(BATCH, most - tried)
            claimed = claim_due(now=clock(), limit=limit, avoid=used.down)
            if not claimed:
                if take_next_ways(now=clock()):
                    continue
                break
            tried += _send_batch(claimed, clock, until, used, told)
    finally:
        used.close()
        for practice_id in told:
            events.announce(practice_id, "aftercare", "messages were sent")
    return tried


def _send_batch(claimed: list[int], clock: Clock, until: datetime, lines: Lines, told: set[int]) -> int:
    """Send the claimed messages one by one; put back what there is no time or no line for."""
    tried = 0
    for message_id in claimed:
        now = clock()
        if now >= until or _is_down(message_id, lines.down):
            release(message_id=message_id)
            continue
        tried += 1
        with events.unheard():
            message = _send_safely(message_id, now, lines)
        if message is not None:
            told.add(message.practice_id)
    return tried


def _send_safely(message_id: int, now: datetime, lines: Lines) -> OutboxMessage | None:
    """Keep a defect in one message from holding up the others; it is taken again after LEASE."""
    try:
        return _send(message_id, now, lines)
    except Exception:
        logger.exception("Message %s could not be worked on.", message_id)
        return None


def _is_down(message_id: int, down: Down) -> bool:
    return bool(down) and OutboxMessage.objects.filter(_by_line(down), pk=message_id).exists()


def _by_line(down: Down) -> Q:
    """Return the filter of the messages that go by one of the lines."""
    lines = Q(pk__in=())
    for practice_id, channel in down:
        lines |= Q(channel=channel) if practice_id is None else Q(channel=channel, practice=practice_id)
    return lines


@transaction.atomic
def claim_due(*, now: datetime, limit: int = 1, avoid: Down = ()) -> list[int]:
    """Take up to `limit` messages for this worker and return their keys, urgent ones first, then oldest.

    What a dying worker had claimed has to wait for LEASE, so claim few. `avoid` names lines
    (practice, channel) that are down; the practice None means every practice.
    """
    while messages := _next(now, limit, avoid):
        claimed = [message.pk for message in messages if not _ended(message, now)]
        if claimed:
            _mark(claimed, now)
            return claimed
    return []


def _next(now: datetime, limit: int, avoid: Down) -> list[OutboxMessage]:
    """Lock what nobody sends, then what waits. Two queries, so that each is served by its index."""
    rows = OutboxMessage.objects.select_for_update(skip_locked=True, of=("self",))
    free = rows.exclude(_by_line(avoid)) if avoid else rows
    deserted = free.filter(state=MessageState.SENDING, claimed_at__lte=now - LEASE).order_by(
        "claimed_at", "pk"
    )
    found = list(deserted[:limit])
    return found + list(_due(free, now)[: limit - len(found)]) if len(found) < limit else found


def _due(rows: QuerySet[OutboxMessage], now: datetime) -> QuerySet[OutboxMessage]:
    waiting = rows.filter(state=MessageState.WAITING, not_before__lte=now)
    return waiting.order_by("-urgent", "not_before", "pk")


def _mark(claimed: list[int], now: datetime) -> None:
    """Mark the messages as being sent; one that was so already may have arrived."""
    OutboxMessage.objects.filter(pk__in=claimed).update(
        perhaps_sent=Case(When(state=MessageState.SENDING, then=Value(True)), default=F("perhaps_sent")),
        state=MessageState.SENDING,
        claimed_at=now,
        attempts=F("attempts") + 1,
    )


def _ended(message: OutboxMessage, now: datetime) -> bool:
    """Close a message that comes too late; one over which worker after worker died has failed."""
    if message.not_after is not None and now >= message.not_after:
        _close_late(message, now)
        return True
    if message.attempts >= MOST_TRIES:
        message.perhaps_sent = True
        _not_sent(message, now, Trouble("Every worker that tried this died. See the server's log."))
        return True
    return False


@transaction.atomic
def close_pointless(*, now: datetime) -> int:
    """Close what waits for somebody to ring although its time is over; return how many."""
    rows = OutboxMessage.objects.select_for_update(skip_locked=True, of=("self",)).select_related("practice")
    late = list(rows.filter(state=MessageState.HELD, not_after__lte=now)[:BATCH])
    return len([_close_late(message, now) for message in late])


def release(*, message_id: int) -> None:
    """Put back a claimed message that nobody has tried to send."""
    claimed = OutboxMessage.objects.filter(pk=message_id, state=MessageState.SENDING, attempts__gt=0)
    claimed.update(state=MessageState.WAITING, attempts=F("attempts") - 1)


def send_claimed(
    *,
    message_id: int,
    now: datetime,
    connection: BaseEmailBackend | None = None,
    lines: Lines | None = None,
) -> OutboxMessage | None:
    """Send one claimed message and return it in its new state; None when another worker has it.

    Never raises for the other side's trouble: the message goes back to wait, or has failed. `lines`,
    or a mail `connection`, that are given stay open for the next message.
    """
    used = lines or Lines(connection)
    try:
        return _send(message_id, now, used)
    finally:
        if lines is None and connection is None:
            used.close()


@transaction.atomic
def _send(message_id: int, now: datetime, lines: Lines) -> OutboxMessage | None:
    # Not skipping a locked row: a worker that is just claiming may have locked ours in passing, before
    # it saw that it is taken. A row that another has really sent is no longer in this state after the wait.
    rows = OutboxMessage.objects.select_for_update()
    message = rows.filter(pk=message_id, state=MessageState.SENDING).order_by().first()
    if message is None:
        return None
    message.practice = lines.practice(message.practice_id)
    if not message.urgent and outbox.is_quiet(message.practice, now):
        return _wait_for_morning(message, now)
    if message.not_after is not None and now >= message.not_after:
        return _close_late(message, now)
    answer = lines.hand_over(message.practice, message.channel, letter_of(message))
    return _sent(message, now, answer) if isinstance(answer, Taken) else _not_sent(message, now, answer)


def letter_of(message: OutboxMessage) -> Letter:
    """Return the message as a line takes it."""
    return Letter(
        key=message.sent_as,
        name=message.recipient_name,
        address=message.address,
        subject=message.subject,
        body=message.body,
        text=message.short_text,
        reply_to=message.practice.email,
        reply_code=message.reply_code,
        urgent=message.urgent,
        may_be_copy=message.perhaps_sent,
    )


def _sent(message: OutboxMessage, now: datetime, answer: Taken) -> OutboxMessage:
    message.state = MessageState.SENT
    message.sent_at = now
    message.last_error = ""
    message.gateway_reference = answer.reference
    message.save(update_fields=["state", "sent_at", "last_error", "gateway_reference"])
    tell(message, now, "message_sent", f"Sent to {message.address}: {message.subject}")
    return message


def _not_sent(message: OutboxMessage, now: datetime, trouble: Trouble) -> OutboxMessage:
    """Put the message back with a growing pause, or let it fail where trying again is no use."""
    message.last_error = trouble.sentence[:1000]
    message.perhaps_sent = message.perhaps_sent or trouble.perhaps_taken
    pause = pause_after(message.attempts, seed=message.message_id, asked=trouble.wait)
    if trouble.final or pause is None:
        message.state = MessageState.FAILED
        sentence = f"Not sent to {message.address}: {message.subject}. {what_now(message)}"
        tell(message, now, "message_failed", sentence, reason=message.last_error)
        logger.error("Message %s failed: %s", message.pk, message.last_error)
    else:
        message.state = MessageState.WAITING
        message.not_before = now + pause
        logger.warning("Message %s waits until %s: %s", message.pk, message.not_before, message.last_error)
    message.save(update_fields=["state", "not_before", "last_error", "perhaps_sent"])
    return message


def _close_late(message: OutboxMessage, now: datetime) -> OutboxMessage:
    """Close a message whose time is over; why stands with it."""
    message.state = MessageState.CLOSED
    message.cleared_at = now
    message.cleared_note = f"It was too late to be of use. {message.last_error}".strip()
    message.save(update_fields=["state", "cleared_at", "cleared_note"])
    sentence = f"Not sent to {message.address}, too late to be of use: {message.subject}"
    tell(message, now, "message_too_late", sentence)
    return message


def _wait_for_morning(message: OutboxMessage, now: datetime) -> OutboxMessage:
    message.state = MessageState.WAITING
    message.not_before = outbox.after_quiet(message.practice, now)
    message.attempts -= 1
    message.save(update_fields=["state", "not_before", "attempts"])
    return message


@transaction.atomic
def withdraw(
    *, message: OutboxMessage, now: datetime, actor: Member | None = None, reason: str = ""
) -> OutboxMessage:
    """Keep a message from going out, and what went instead of it. Refuses one that is being sent or has gone.

    `actor` is None where a correction of ours makes the message void. Returns what was kept back.
    """
    if actor is not None:
        require_here(actor, message.practice_id, Role.RECEPTION, Role.VET)
    row = OutboxMessage.objects.select_for_update().get(pk=message.pk)
    if second := OutboxMessage.objects.filter(instead_of__message=row).first():
        return withdraw(message=second, now=now, actor=actor, reason=reason)
    if row.state == MessageState.SENDING or row.state in GONE:
        raise AlreadyDone(state=row.get_state_display())
    if row.state == MessageState.WITHDRAWN:
        return row
    row.state = MessageState.WITHDRAWN
    row.save(update_fields=["state"])
    sentence = f"Not to be sent any more to {row.address}: {row.subject}"
    tell(row, now, "message_withdrawn", sentence, reason=reason, actor=actor)
    return row

"""Messages that say a date which is no longer true are kept from going out; what else they said goes anew."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q

from cases.models import Reminder, ReminderState, Treatment, Withdrawal
from rotas.errors import AlreadyDone
from rotas.models import MessageState, OutboxMessage
from rotas.services.outbox import withdraw

STOPPABLE = (MessageState.WAITING, MessageState.FAILED)


def take_back(
    withdrawals: Iterable[Withdrawal], treatments: Iterable[Treatment], now: datetime, why: str
) -> int:
    """Withdraw what waits in the outbox about these; return how many messages.

    One that is being sent or has gone stays: the correction follows it. The other lines of a
    withdrawn message are told again, in a message of their own.
    """
    about = Q(withdrawal__in=list(withdrawals)) | Q(treatment__in=list(treatments))
    queued = Reminder.objects.select_for_update(of=("self",)).filter(state=ReminderState.QUEUED)
    stale = {row.pk: row for row in queued.filter(about).order_by("pk")}
    bundle = queued.filter(message__in={row.message_id for row in stale.values()}).order_by("pk")
    rows = {row.pk: row for row in bundle} | stale
    stopped = [message for message in _messages_of(rows.values()) if _stop(message, now, why)]
    if stopped:
        for row in rows.values():
            _let_go(row, now, tell_again=row.pk not in stale)
    return len(stopped)


def _messages_of(reminders: Iterable[Reminder]) -> list[OutboxMessage]:
    """Return the messages that carry these, to whichever address."""
    wanted = Q(pk__in=[])
    for row in reminders:
        wanted |= Q(practice=row.practice_id, key__startswith=f"reminder:{row.pk}:") | Q(pk=row.message_id)
    return list(OutboxMessage.objects.filter(wanted, state__in=STOPPABLE).order_by("pk"))


def _stop(message: OutboxMessage, now: datetime, why: str) -> bool:
    """Withdraw the message, unless a sender was quicker."""
    try:
        withdraw(message=message, now=now, reason=why)
    except AlreadyDone:
        return False
    return True


def _let_go(row: Reminder, now: datetime, *, tell_again: bool) -> None:
    """Let a reminder be told again from now on, or not at all."""
    row.state = ReminderState.WAITING if tell_again else ReminderState.CANCELLED
    if tell_again:
        row.message, row.send_at = None, now
    row.save(update_fields=["state", "message", "send_at"])

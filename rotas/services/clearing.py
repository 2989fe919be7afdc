"""What people do about messages that reached nobody. Each one is cleared by somebody; none is dropped."""

from datetime import datetime

from django.db import transaction

from rotas import outbox
from rotas.access import find, require_here
from rotas.errors import AlreadyDone, BadInput
from rotas.models import DEAD, Channel, Member, MessageState, OutboxMessage, Practice, Role
from rotas.services.message_story import tell


@transaction.atomic
def try_again(*, message: OutboxMessage, actor: Member, now: datetime) -> OutboxMessage:
    """Let a message that did not arrive wait once more, after somebody has seen to the cause.

    It goes under the key of its first try only where that may have arrived unseen: then a copy is
    known for one. What is known not to have arrived is a new edition, which no gateway takes for a copy.
    """
    row = _dead(message, actor)
    if row.channel == Channel.CALL:
        raise BadInput(field="message", problem="no address is known. Ring, and say whom you told.")
    if row.state == MessageState.UNDELIVERED or not row.perhaps_sent:
        row.edition += 1
        row.perhaps_sent = False
    row.state = MessageState.WAITING
    row.attempts = 0
    row.sent_at = None
    row.not_before = now if row.urgent else outbox.after_quiet(row.practice, now)
    row.save(update_fields=["state", "attempts", "sent_at", "not_before", "edition", "perhaps_sent"])
    tell(row, now, "message_tried_again", f"To be tried again, to {row.address}: {row.subject}", actor=actor)
    return row


def told_by_telephone(*, message: OutboxMessage, actor: Member, now: datetime, whom: str) -> OutboxMessage:
    """Clear a message whose news somebody has been told by voice. `whom` is who heard it."""
    if not whom.strip():
        raise BadInput(field="whom", problem="say who was told; an answering machine has not heard it.")
    sentence = "{actor} told {note} by telephone: {subject}"
    return _clear(message, actor, now, MessageState.TOLD, whom, "message_told", sentence)


def close_message(*, message: OutboxMessage, actor: Member, now: datetime, reason: str) -> OutboxMessage:
    """Clear a message that need not be told any more, with the reason."""
    if not reason.strip():
        raise BadInput(field="reason", problem="say why nobody need be told any more.")
    return _clear(message, actor, now, MessageState.CLOSED, reason, "message_closed", "Closed: {subject}")


@transaction.atomic
def _clear(
    message: OutboxMessage, actor: Member, now: datetime, state: MessageState, note: str, verb: str, says: str
) -> OutboxMessage:
    row = _dead(message, actor)
    row.state = state
    row.cleared_at, row.cleared_by, row.cleared_note = now, actor, note.strip()
    row.save(update_fields=["state", "cleared_at", "cleared_by", "cleared_note"])
    sentence = says.format(actor=actor.name, note=row.cleared_note, subject=row.subject)
    tell(row, now, verb, sentence, reason=row.cleared_note, actor=actor)
    return row


def _dead(message: OutboxMessage, actor: Member) -> OutboxMessage:
    """Return the locked row, or refuse: who may not, or what is not waiting for a person."""
    require_here(actor, message.practice_id, Role.RECEPTION, Role.VET)
    row = OutboxMessage.objects.select_for_update().get(pk=message.pk)
    if row.state not in DEAD:
        raise AlreadyDone(state=row.get_state_display())
    return row


def message_in(practice: Practice, pk: object) -> OutboxMessage:
    """Return a message of the practice by key."""
    return find(OutboxMessage.objects.select_related("practice"), pk=pk, practice=practice, what="message")


def uncleared(practice: Practice) -> int:
    """Return how many messages reached nobody and are not cleared."""
    return OutboxMessage.objects.for_practice(practice).failed().count()


def uncleared_words(count: int) -> str:
    """Return the sentence for the desk; blank where everybody was reached."""
    if not count:
        return ""
    return "1 message reached nobody" if count == 1 else f"{count} messages reached nobody"

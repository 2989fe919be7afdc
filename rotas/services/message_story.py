"""The lines of the story that a message leaves, and what is to be done about one that did not arrive."""

from datetime import datetime

from rotas.lines import usable
from rotas.models import Member, NextWay, OutboxMessage
from rotas.services import telling


def tell(
    message: OutboxMessage,
    now: datetime,
    verb: str,
    sentence: str,
    *,
    reason: str = "",
    actor: Member | None = None,
) -> None:
    """Write the line of what became of a message, and announce it."""
    telling.tell(
        practice=message.practice,
        now=now,
        verb=verb,
        subject=message,
        sentence=sentence,
        reason=reason,
        topic="aftercare",
        actor=actor,
        by="outbox",
        after={"attempts": message.attempts, "message_id": message.message_id},
    )


def what_now(message: OutboxMessage) -> str:
    """Say who sees to a message that did not arrive: the next way, or a person."""
    way = NextWay.objects.filter(message=message, looked_at=None).first()
    if way is None or way.channel not in usable(message.practice):
        return "Tell them by telephone."
    return f"It goes by {way.get_channel_display()} instead."

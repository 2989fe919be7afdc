"""What the gateway says became of a message: kept once, then followed."""

import re
from datetime import datetime

from django.db import transaction

from rotas.models import MessageState, OutboxMessage, Practice, Receipt, ReceiptStatus
from rotas.services.message_story import tell, what_now

EDITION = re.compile(r"<(\w+)(?:\.(\d{1,4}))?@([\w.-]+)>")
OPEN = (MessageState.WAITING, MessageState.SENDING, MessageState.SENT)


def becomes(state: str, status: str) -> str | None:
    """Return the state that a receipt brings, or None where it changes nothing.

    "Delivered" is the last word, in whichever order receipts come; what a person has cleared stays so.
    """
    if status == ReceiptStatus.DELIVERED:
        late = (MessageState.FAILED, MessageState.UNDELIVERED)
        return MessageState.DELIVERED if state in (*OPEN, *late) else None
    return MessageState.UNDELIVERED if state in OPEN else None


@transaction.atomic
def take_receipt(
    *,
    practice: Practice,
    key: str,
    about: str,
    status: str,
    happened_at: datetime,
    now: datetime,
    detail: str = "",
) -> bool:
    """Keep one receipt and follow it; False where it was kept before, and nothing is done.

    `key` is the gateway's id of the event, `about` the Idempotency-Key of the message or the gateway's
    own name for it. A receipt about no message of ours is kept all the same.
    """
    message = _message(practice, about)
    receipt, new = Receipt.objects.get_or_create(
        practice=practice,
        key=key,
        defaults={
            "about": about,
            "message": message,
            "status": status,
            "detail": detail,
            "happened_at": happened_at,
            "received_at": now,
        },
    )
    if new and message is not None and _is_of_this_edition(message, about):
        _follow(message, receipt, now)
    return new


def _message(practice: Practice, about: str) -> OutboxMessage | None:
    """Return the locked message. One that is being sent is waited for."""
    rows = (
        OutboxMessage.objects.for_practice(practice)
        .select_for_update(of=("self",))
        .select_related("practice")
    )
    found = EDITION.fullmatch(about)
    if found:
        return rows.filter(message_id=f"<{found[1]}@{found[3]}>").first()
    return rows.filter(gateway_reference=about).first() if about else None


def _is_of_this_edition(message: OutboxMessage, about: str) -> bool:
    """Say whether it is about the message as it was sent last, not as it was before it was sent anew."""
    return about in (message.sent_as, message.gateway_reference)


def _follow(message: OutboxMessage, receipt: Receipt, now: datetime) -> None:
    state = becomes(message.state, receipt.status)
    if state is None:
        return
    message.state = state
    message.sent_at = message.sent_at or receipt.happened_at
    arrived = state == MessageState.DELIVERED
    message.delivered_at = receipt.happened_at if arrived else None
    message.last_error = (
        "" if arrived else f"The gateway could not deliver it. {receipt.detail}".strip()[:1000]
    )
    message.save(update_fields=["state", "sent_at", "delivered_at", "last_error"])
    if arrived:
        tell(message, now, "message_delivered", f"Delivered to {message.address}: {message.subject}")
        return
    sentence = f"Not delivered to {message.address}: {message.subject}. {what_now(message)}"
    tell(message, now, "message_undelivered", sentence, reason=receipt.detail)

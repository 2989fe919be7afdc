"""Rows of the outbox for tests, each made through its service: a dead letter, a reply, a way, a secret."""

from datetime import time
from itertools import count
from typing import Any

from django.db import transaction

from rotas import outbox
from rotas.models import GatewayKey, InboundMessage, Member, OutboxMessage, Practice, Reach
from rotas.services.gateway_keys import make_key
from rotas.services.reaching import add_way
from rotas.services.replies import keep_reply, look_at
from tests.factories import NOW

NOON = NOW.replace(hour=12)
_numbers = count(1)


def a_message(practice: Practice, **values: Any) -> OutboxMessage:
    """Put a message in the outbox, due at noon; each call another one."""
    given = {
        "key": f"cause:{next(_numbers)}",
        "address": "farm@client.example",
        "subject": "Milk",
        "body": "Milk is out until Monday.",
        "not_before": NOON,
    }
    with transaction.atomic():
        return outbox.put(practice=practice, **(given | values))


def a_text(practice: Practice, **values: Any) -> OutboxMessage:
    """Put a text message in the outbox."""
    return a_message(
        practice, **({"channel": "text", "address": "+441632960777", "text": "Milk out to Mon"} | values)
    )


def a_dead_letter(practice: Practice) -> OutboxMessage:
    """Make a message that has failed."""
    message = a_message(practice, recipient_name="Hobb")
    message.state, message.last_error = "failed", "mailbox full"
    message.save(update_fields=["state", "last_error"])
    return message


def an_unread_reply(practice: Practice, text: str = "she is down", **values: Any) -> InboundMessage:
    """Let somebody write what no rule understands."""
    given = {"key": f"event-{next(_numbers)}", "sender": "01632 960555", "written_at": NOW, "now": NOW}
    row, _ = keep_reply(practice=practice, text=text, **(given | values))
    look_at(inbound_id=row.pk, now=NOW)
    row.refresh_from_db()
    return row


def a_way(member: Member, **values: Any) -> Reach:
    """Write a way to reach the member: a text message by night, unless said otherwise."""
    given = {
        "channel": "text",
        "address": f"+4416329607{next(_numbers) % 100:02}",
        "from_clock": time(20),
        "until_clock": time(6),
    }
    return add_way(member=member, actor=member, now=NOW, **(given | values))


def a_gateway_key(manager: Member) -> GatewayKey:
    """Make a shared secret."""
    return make_key(actor=manager, now=NOW)

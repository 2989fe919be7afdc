"""The line of the story that every write of this floor leaves, and the word to the floors above."""

from datetime import datetime
from typing import Any

from django.db import models

from rotas import audit, events
from rotas.errors import BadInput
from rotas.models import Member, Practice


def tell(
    *,
    practice: Practice,
    now: datetime,
    verb: str,
    subject: models.Model,
    sentence: str,
    topic: str,
    actor: Member | None,
    reason: str = "",
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> None:
    """Write the audit line and announce the change once the transaction stands."""
    audit.record(
        practice=practice,
        at=now,
        verb=verb,
        subject=subject,
        sentence=sentence,
        actor=actor,
        actor_name="" if actor else "clock",
        reason=reason,
        before=before,
        after=after,
    )
    events.announce(practice.pk, topic, sentence)


def required(text: str, field: str, problem: str) -> str:
    """Return the text without the blanks around it, or refuse an empty one."""
    text = text.strip()
    if not text:
        raise BadInput(field=field, problem=problem)
    return text

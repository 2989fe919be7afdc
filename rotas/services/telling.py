"""The line of the story that a write leaves, and the messages to everyone whom it concerns."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import models

from rotas import audit, events
from rotas.models import Channel, Member, Practice, Role
from rotas.services.reaching import put_to


def tell(
    *,
    practice: Practice,
    now: datetime,
    verb: str,
    subject: models.Model | str,
    sentence: str,
    actor: Member | None,
    reason: str = "",
    topic: str = "rota",
    by: str = "clock",
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> None:
    """Write the audit line and announce the change once the transaction stands.

    `by` is what did it where no member did.
    """
    audit.record(
        practice=practice,
        at=now,
        verb=verb,
        subject=subject,
        sentence=sentence,
        actor=actor,
        actor_name="" if actor else by,
        reason=reason,
        before=before,
        after=after,
    )
    events.announce(practice.pk, topic, sentence)


def write_to(
    member: Member,
    *,
    cause: str,
    subject: str,
    body: str,
    now: datetime,
    urgent: bool = False,
    text: str = "",
) -> bool:
    """Put one message to a member in the outbox and say whether there was a way to send it.

    `cause` names what happened, such as ``swap:3:asked``: a member is told of a cause once, however
    often a service is repeated. Somebody whom no line reaches stands on the page of messages, with
    the telephone number that is known, until somebody has told them.
    """
    message = put_to(
        member,
        key=f"{cause}:{member.pk}",
        subject=subject,
        body=body,
        text=text,
        not_before=now,
        urgent=urgent,
    )
    return message.channel != Channel.CALL


def write_to_managers(
    practice: Practice, *, cause: str, subject: str, body: str, now: datetime, besides: Iterable[Member] = ()
) -> bool:
    """Tell every manager but those who know already; say whether anybody could be told."""
    known = {member.pk for member in besides}
    others = [member for member in managers_of(practice) if member.pk not in known]
    told = [write_to(member, cause=cause, subject=subject, body=body, now=now) for member in others]
    return any(told)


def managers_of(practice: Practice) -> Iterable[Member]:
    """Return the practice's managers who still sign in."""
    rows = Member.objects.for_practice(practice).filter(roles__contains=[Role.MANAGER], is_active=True)
    return rows.select_related("practice").order_by("pk")
